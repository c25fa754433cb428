// What differs between two states of a floor plan, and one person's changes put on top of another's. No DOM.
// A state: {scale, origin, zones, rooms, points}; the last three are lists of rows with an id.
export const LISTS = ["zones", "rooms", "points"];
const WHOLE = ["scale", "origin"]; // changed as one

export const copy = (value) => JSON.parse(JSON.stringify(value));
export const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
// What of the server's answer can be changed here.
export const stateOf = ({ scale, origin, zones, rooms, points }) => copy({ scale, origin, zones, rooms, points });

const byId = (rows) => new Map(rows.map((row) => [row.id, row]));

const changeOf = (row, before) => {
  if (!before) return { ...row, new: true };
  const fields = Object.keys(row).filter((name) => !same(row[name], before[name]));
  return fields.length ? { id: row.id, ...Object.fromEntries(fields.map((name) => [name, row[name]])) } : null;
};

// What the server must be told, in the words of campaigns/services/floor_plans/saving.py.
export const changesBetween = (base, now) => {
  const changes = { removed: {} };
  for (const name of WHOLE) if (!same(base[name], now[name])) changes[name] = now[name];
  for (const list of LISTS) {
    const before = byId(base[list]);
    const after = byId(now[list]);
    changes[list] = now[list].map((row) => changeOf(row, before.get(row.id))).filter(Boolean);
    changes.removed[list] = base[list].map((row) => row.id).filter((id) => !after.has(id));
  }
  return changes;
};

export const countOf = (changes) => {
  const whole = WHOLE.filter((name) => name in changes).length;
  return LISTS.reduce((sum, list) => sum + changes[list].length + changes.removed[list].length, whole);
};

// One row of mine on top of theirs. Returns whether both of us changed the same of it.
const putOnTop = (fields, theirs, before) => {
  const clash = Object.keys(fields).some((name) => name !== "id" && !same(theirs[name], before[name]));
  Object.assign(theirs, copy(fields));
  return clash;
};

// Somebody else has saved: theirs, with what was changed here on top. A row that they removed and that was changed here
// comes back; one that was removed here goes. Returns {now, both}: the state, and names of rows changed by both.
export const rebased = (base, mine, theirs) => {
  const changes = changesBetween(base, mine);
  const now = copy(theirs);
  const both = [];
  for (const name of WHOLE) if (name in changes) now[name] = mine[name];
  for (const list of LISTS) {
    const [before, drawn, held] = [base, mine, now].map((state) => byId(state[list]));
    for (const { new: _, ...fields } of changes[list]) {
      const row = held.get(fields.id);
      if (!row) {
        now[list].push(copy(drawn.get(fields.id)));
        continue;
      }
      const { name } = row; // as they call it
      if (putOnTop(fields, row, before.get(fields.id) ?? {})) both.push(name);
    }
    now[list] = now[list].filter((row) => !changes.removed[list].includes(row.id));
  }
  return { now, both };
};

// The same with other keys: what was new has those of the server after saving.
export const withKeys = (value, given) =>
  JSON.parse(JSON.stringify(value, (_, held) => (typeof held === "string" && given[held]) || held));
