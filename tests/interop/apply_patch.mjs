// apply_patch.mjs FIRST PATCH: the document after the patch (RFC 6902, by fast-json-patch, checking each step).
import { readFileSync } from "node:fs";
import jsonpatch from "fast-json-patch";

const [first, patch] = process.argv.slice(2).map((path) => JSON.parse(readFileSync(path, "utf8")));
process.stdout.write(JSON.stringify(jsonpatch.applyPatch(first, patch, true).newDocument));
