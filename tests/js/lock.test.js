import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const read = (name) => readFileSync(new URL(`../../${name}`, import.meta.url), "utf8");

test("the lock names hashes and no address (npm run relock makes it so)", () => {
  for (const name of ["package-lock.json", "package.json", ".npmrc"]) assert.doesNotMatch(read(name), /:\/\//, name);
  const { packages } = JSON.parse(read("package-lock.json"));
  const locked = Object.entries(packages).filter(([path]) => path);
  assert.ok(locked.length > 50);
  for (const [path, { integrity }] of locked) assert.match(integrity, /^sha512-/, path);
});
