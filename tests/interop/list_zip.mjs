// Reads every entry of each file given with yauzl (strict names on): "FILE", then one "NAME SIZE CRC" a line.
import { open } from "yauzl";
import { promisify } from "node:util";
import { crc32 } from "./crc32.mjs";

function list(file) {
  return new Promise(async (resolve, reject) => {
    const zip = await promisify(open)(file, { lazyEntries: true, strictFileNames: true });
    const lines = [file];
    zip.on("error", reject);
    zip.on("end", () => resolve(lines));
    zip.on("entry", (entry) => {
      zip.openReadStream(entry, (error, stream) => {
        if (error) return reject(error);
        const pieces = [];
        stream.on("error", reject);
        stream.on("data", (piece) => pieces.push(piece));
        stream.on("end", () => {
          const data = Buffer.concat(pieces);
          if (crc32(data) !== entry.crc32) return reject(new Error(`CRC of ${entry.fileName}`));
          lines.push(`${entry.fileName} ${data.length} ${crc32(data).toString(16)}`);
          zip.readEntry();
        });
      });
    });
    zip.readEntry();
  });
}

for (const file of process.argv.slice(2)) console.log((await list(file)).join("\n"));
