// read_csv.mjs FILE: the cells as JSON, by csv-parse (RFC 4180).
import { parse } from "csv-parse/sync";
import { readFileSync } from "node:fs";

process.stdout.write(JSON.stringify(parse(readFileSync(process.argv[2]), { bom: true, relax_column_count: false })));
