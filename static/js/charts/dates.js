// Dates on axes, in English as the pages write it. No DOM.
const MONTHS = [
  "January", "February", "March", "April", "May", "June",
  "July", "August", "September", "October", "November", "December",
];
const DAYS = ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"];
const shortened = (words) => words.map((word) => word.slice(0, 3));

export const SHORT_MONTHS = shortened(MONTHS);

// For the plotting library, which knows American English alone.
export const LOCALE = {
  moduleType: "locale", name: "en-GB", dictionary: {},
  format: {
    days: DAYS, shortDays: shortened(DAYS), months: MONTHS, shortMonths: SHORT_MONTHS,
    date: "%-d %B %Y", year: "%Y", month: "%b %Y", dayMonth: "%-d %b", dayMonthYear: "%-d %b %Y",
  },
};
