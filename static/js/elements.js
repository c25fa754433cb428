// Elements with their attributes and what is in them. An attribute that is null, undefined or false is left out.
const SVG = "http://www.w3.org/2000/svg";

const filled = (node, attributes, children) => {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) node.setAttribute(name, value);
  }
  node.append(...children);
  return node;
};

export const element = (name, attributes = {}, ...children) =>
  filled(document.createElement(name), attributes, children);

export const svgElement = (name, attributes = {}, ...children) =>
  filled(document.createElementNS(SVG, name), attributes, children);
