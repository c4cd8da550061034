// What tweetnacl makes of signatures: lines on standard input, an answer each on standard output.
//   verify KEY MESSAGE SIGNATURE   -> true or false          (all of them hex digits)
//   sign SEED MESSAGE              -> PUBLIC-KEY SIGNATURE
import nacl from "tweetnacl";
import { readFileSync } from "node:fs";

const bytes = (hex) => new Uint8Array(Buffer.from(hex, "hex"));
const hex = (array) => Buffer.from(array).toString("hex");

for (const line of readFileSync(0, "utf8").split("\n").slice(0, -1)) {
  const [what, first, second, third] = line.split(" ");
  if (what === "verify") {
    console.log(nacl.sign.detached.verify(bytes(second), bytes(third), bytes(first)));
  } else {
    const pair = nacl.sign.keyPair.fromSeed(bytes(first));
    console.log(`${hex(pair.publicKey)} ${hex(nacl.sign.detached(bytes(second), pair.secretKey))}`);
  }
}
