// Colours of a chart by their role, so that one figure made in Python serves light, dark and print. No DOM.
// Roles, with an optional opacity ("accent/0.2"):
//   ink, faint, rule, paper, sheet, accent      as in the stylesheet
//   limit                                       lines of limits (ink; dash them)
//   band                                        deployment bands and other areas behind the data
//   series-1 … series-4                         several series: told apart by dash or marker too, never by tint alone
//   f0 … f10, over                              the scale "fraction of the limit"
export const ROLES = new Map(Object.entries({
  limit: "ink", band: "rule", "series-1": "accent", "series-2": "ink", "series-3": "f6", "series-4": "faint",
}));
for (const name of ["ink", "faint", "rule", "paper", "sheet", "accent", "over"]) ROLES.set(name, name);
for (let step = 0; step <= 10; step += 1) ROLES.set(`f${step}`, `f${step}`);

// variable: name of a custom property of the stylesheet → its value, a hexadecimal colour.
export const colourOf = (word, variable) => {
  const [role, opacity] = word.split("/");
  if (!ROLES.has(role)) return word;
  const hex = variable(ROLES.get(role));
  return opacity ? hex + Math.round(Number(opacity) * 255).toString(16).padStart(2, "0") : hex;
};

// A copy of a figure with colours instead of roles. Roles are looked for only under keys that hold colours: a trace
// named "ink" keeps its name.
export const recoloured = (value, variable, isColour = false) => {
  if (typeof value === "string") return isColour ? colourOf(value, variable) : value;
  if (Array.isArray(value)) return value.map((item) => recoloured(item, variable, isColour));
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, item]) => [key, recoloured(item, variable, /color(scale|way)?$/i.test(key))]),
  );
};
