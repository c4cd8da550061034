// validate.mjs SCHEMAS NAME DOCUMENT: is the document, or every line of a .jsonl, as SCHEMAS/NAME has it?
// JSON Schema 2020-12 by Ajv.
import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

const [folder, name, document] = process.argv.slice(2);
const text = (path) => readFileSync(path, "utf8");
const read = (path) => JSON.parse(text(path));
const uri = (name) => `https://schemas.invalid/${name}`; // references between schemas are relative

const ajv = new Ajv2020({ allErrors: true, strict: true, strictRequired: false, allowUnionTypes: true });
addFormats(ajv);
for (const entry of readdirSync(folder, { withFileTypes: true }))
  for (const file of entry.isDirectory() ? readdirSync(join(folder, entry.name)) : [""]) {
    const name = file ? `${entry.name}/${file}` : entry.name;
    if (name.endsWith(".schema.json")) ajv.addSchema(read(join(folder, name)), uri(name));
  }
const validate = ajv.getSchema(uri(name));
const documents = document.endsWith(".jsonl")
  ? text(document).trimEnd().split("\n").map((line) => JSON.parse(line))
  : [read(document)];
for (const one of documents)
  if (!validate(one)) {
    for (const error of validate.errors.slice(0, 20)) console.log(`${error.instancePath} ${error.message}`);
    process.exitCode = 1;
  }
