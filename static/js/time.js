// Lengths of time in milliseconds, and two digits of a clock. No DOM.
export const SECOND = 1000;
export const MINUTE = 60 * SECOND;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

export const twoDigits = (number) => String(number).padStart(2, "0");
