// Is every line of each file given what `canonicalize` (RFC 8785) makes of it? Prints those that are not.
import canonicalize from "canonicalize";
import { readFileSync } from "node:fs";

let wrong = 0;
let lines = 0;
for (const file of process.argv.slice(2)) {
  for (const line of readFileSync(file, "utf8").split("\n").slice(0, -1)) {
    lines++;
    if (canonicalize(JSON.parse(line)) !== line) {
      wrong++;
      console.log(`${file}: ${line}`);
    }
  }
}
console.log(`${lines} lines, ${wrong} wrong`);
process.exit(wrong || !lines ? 1 : 0);
