// Numbers as people type and read them. No DOM.

// What was typed, with a point or a comma; null for nothing and for what is no number.
export const parsedNumber = (text) => {
  const typed = String(text).trim().replace(",", ".");
  const value = Number(typed);
  return typed && Number.isFinite(value) ? value : null;
};

// Metres or square metres to the centimetre, without zeros at the end.
export const metres = (value) => value.toFixed(2).replace(/\.?0+$/, "");
