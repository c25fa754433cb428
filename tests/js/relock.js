// Leaves out of package-lock.json where packages come from and who takes money for them: names and hashes are enough.
import { readFileSync, writeFileSync } from "node:fs";

const path = new URL("../../package-lock.json", import.meta.url);
const lock = JSON.parse(readFileSync(path, "utf8"));
for (const entry of Object.values(lock.packages)) {
  delete entry.funding;
  delete entry.resolved;
}
writeFileSync(path, `${JSON.stringify(lock, null, 2)}\n`);
