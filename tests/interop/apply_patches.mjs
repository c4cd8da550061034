// apply_patches.mjs LIST: for each line "A B PATCH" (files of JSON) does the patch make B of A, exactly?
// Referee: fast-json-patch (RFC 6902). Prints the lines that fail; the last line counts.
import { readFileSync } from "node:fs";
import { isDeepStrictEqual } from "node:util";
import patching from "fast-json-patch";

const load = (path) => JSON.parse(readFileSync(path, "utf8"));
let good = 0;
let bad = 0;
for (const line of readFileSync(process.argv[2], "utf8").trim().split("\n")) {
  const [from, to, patch] = line.split(" ");
  const operations = load(patch);
  let fault = operations.find((one) => !["add", "remove", "replace"].includes(one.op));
  try {
    const made = patching.applyPatch(load(from), operations, true).newDocument;
    fault ??= isDeepStrictEqual(made, load(to)) ? undefined : "another document";
  } catch (error) {
    fault = error.message;
  }
  if (fault === undefined) good++;
  else {
    bad++;
    console.log(`${line}: ${JSON.stringify(fault)}`);
  }
}
console.log(`${good} made, ${bad} not`);
process.exit(bad ? 1 : 0);
