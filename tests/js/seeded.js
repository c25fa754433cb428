// Random numbers that are the same in every run: a linear congruential generator with the constants of Numerical Recipes
// (from memory); good enough for examples.
export const seeded = (seed) => {
  let state = seed >>> 0;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  return {
    between: (low, high) => low + next() * (high - low),
    whole: (low, high) => Math.floor(low + next() * (high - low + 1)),
    oneOf: (values) => values[Math.floor(next() * values.length)],
  };
};

export const near = (found, wanted, within = 1e-9) => Math.abs(found - wanted) <= within;
