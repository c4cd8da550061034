// validate.mjs SCHEMA DOCUMENT: JSON Schema 2020-12 by Ajv; schemas beside SCHEMA may be referred to.
import Ajv2020 from "ajv/dist/2020.js";
import addFormats from "ajv-formats";
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, basename } from "node:path";

const [schemaPath, documentPath] = process.argv.slice(2);
const read = (path) => JSON.parse(readFileSync(path, "utf8"));
const ajv = new Ajv2020({ allErrors: true, strict: false });
addFormats(ajv);
for (const name of readdirSync(dirname(schemaPath)))
  if (name.endsWith(".json") && name !== basename(schemaPath)) ajv.addSchema(read(join(dirname(schemaPath), name)));
const validate = ajv.compile(read(schemaPath));
if (!validate(read(documentPath))) {
  for (const error of validate.errors.slice(0, 20)) console.log(`${error.instancePath} ${error.message}`);
  process.exit(1);
}
