// Numbers as people type and read them. No DOM.

// What was typed, with a point or a comma; null for nothing and for what is no number.
export const parsedNumber = (text) => {
  const typed = String(text).trim().replace(",", ".");
  const value = Number(typed);
  return typed && Number.isFinite(value) ? value : null;
};

// Three significant digits, whole numbers in full, never an exponent; what is left of a sum of fractions is nothing.
export const threeDigits = (value) => {
  if (Math.abs(value) < 1e-12) return "0";
  const whole = Math.round(Math.abs(value)).toString().length;
  const format = { maximumSignificantDigits: Math.min(21, Math.max(3, whole)), useGrouping: false };
  return new Intl.NumberFormat("en", format).format(value).replace("-", "−");
};

// Metres or square metres to the centimetre, without zeros at the end.
export const metres = (value) => value.toFixed(2).replace(/\.?0+$/, "");
