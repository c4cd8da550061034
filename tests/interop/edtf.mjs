// edtf.mjs EDTF_BOUNDS: the bounds of dates as `edtf` (npm) has them, against ours (tests/tools/edtf_bounds.c):
// the specification's examples in testvectors/dates, 2,000 random strings of levels 0 and 1, and 2,000 damaged ones.
//
// Where the two differ on purpose (spec/dates.md says why):
//  - a season's bounds: theirs are quarters of the year, ours hold for both hemispheres; only taking it is compared;
//  - a time's bounds: theirs are an instant in UTC, ours the day that is written;
//  - level 1 features together ("185X~", "185X/186X", "Y12345?"): they refuse them, the specification does not;
//  - an interval whose ends overlap ("1861-06/1861"), and 29 February of any year: theirs are stricter or laxer;
//  - "/" and "../..", a century of two digits, fractions of a second, 24:00, hh:mm: they take them;
//  - "-1860-XX": in negative years, theirs have first and last the wrong way round; "-00XX";
//  - "XXXX" and its like, which are not among level 1's cases.
import { execFileSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";

const here = new URL(".", import.meta.url);
if (!existsSync(new URL("node_modules/edtf", here))) {
  console.log("SKIP  npm package edtf is not there (npm ci in tests/interop)");
  process.exit(process.env.GLASSINE_STRICT === "1" ? 1 : 77);
}
const { default: edtf } = await import("edtf");

let seed = 18611102;
function below(limit) {
  // mulberry32 (T. Ettinger, public domain)
  seed = (seed + 0x6d2b79f5) | 0;
  let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) % limit;
}
const pick = (list) => list[below(list.length)];
const pad = (number, width) => String(number).padStart(width, "0");

function ours(strings) {
  const out = execFileSync(process.argv[2], { input: strings.join("\n") + "\n", encoding: "utf8" });
  return out.trimEnd().split("\n");
}

const season = /(^|\/)-?\d{4}-2[1-4](?![-\d])/;
const day = (time) => (time === null || !Number.isFinite(time) ? "none" : String(Math.floor(time / 86400000)));

function theirs(text) {
  try {
    const options = season.test(text) ? { seasonIntervals: true, seasonUncertainty: true } : {};
    const date = edtf(text, { level: 1, ...options });
    return `${day(date.min)} ${day(date.max)}`;
  } catch {
    return "refused";
  }
}

// ---- strings that both take

function year() {
  return below(8) ? pad(1 + below(9998), 4) : "-" + pad(100 + below(9899), 4);
}

function calendarDate() {
  const y = year();
  const month = 1 + below(12);
  const leap = (n) => (n % 4 === 0 && n % 100 !== 0) || n % 400 === 0;
  const days = [31, leap(Number(y)) ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month - 1];
  return pick([y, `${y}-${pad(month, 2)}`, `${y}-${pad(month, 2)}-${pad(1 + below(days), 2)}`]);
}

const qualified = () => calendarDate() + pick(["", "", "?", "~", "%"]);

function unspecified() {
  const y = year();
  const tens = pick([y.slice(0, -1) + "X", y.slice(0, -2) + "XX"]);
  if (y.startsWith("-")) return tens;
  return pick([tens, tens, `${y}-XX`, `${y}-XX-XX`, `${y}-${pad(1 + below(12), 2)}-XX`]);
}

function interval() {
  const ends = [qualified(), qualified()];
  if (!below(4)) ends[below(2)] = pick(["", ".."]);
  const [a, b] = ends.map(theirs);
  const apart = !ends[0] || !ends[1] || ends.includes("..") || Number(a.split(" ")[1]) < Number(b.split(" ")[0]);
  return apart ? ends.join("/") : interval();
}

const longYear = () => `Y${pick(["", "-"])}${10000 + below(250000)}`;
const random = () => pick([calendarDate, qualified, qualified, unspecified, interval, longYear])();

// ---- checks

let failed = 0;
function check(what, wrong, total) {
  failed += wrong.length;
  console.log(`${wrong.length || !total ? "FAIL" : "ok  "}  ${what}: ${total - wrong.length} of ${total}`);
  for (const line of wrong.slice(0, 20)) console.log(`      ${line}`);
  if (!total) failed++;
}

function compare(what, strings, equal) {
  const found = ours(strings);
  const wrong = strings
    .map((text, i) => [text, found[i], theirs(text)])
    .filter(([text, us, them]) => !equal(text, us, them))
    .map(([text, us, them]) => `${text}: ours ${us}, theirs ${them}`);
  check(what, wrong, strings.length);
}

const same = (text, us, them) =>
  season.test(text) || text.includes("T") ? us !== "refused" && them !== "refused" : us === them;

const vectors = JSON.parse(readFileSync(new URL("../../testvectors/dates/forms.json", here), "utf8"));
const examples = vectors.cases.filter((one) => one.loc).map((one) => one.edtf);
const reachable = examples.filter((text) => !text.startsWith("Y"));  // beyond what a JavaScript Date can hold
compare("the specification's examples have the same bounds", reachable, same);
compare("random strings of levels 0 and 1 have the same bounds", Array.from({ length: 2000 }, random), same);

// A letter changed, taken away or put in: what they refuse at level 1 we refuse too, and the reverse.
function damaged() {
  const text = random();
  const at = below(text.length + 1);
  return text.slice(0, at) + pick(["", pick([..."0123456789-/.X?~%"])]) + text.slice(at + below(2));
}

const togetherOnly = /X.*[?~%]|X.*\/|\/.*X|^Y.*[?~%\/]|\/.*Y/;
const theirsOnly = /^-?\d\d[?~%]?$|^(\.\.)?\/(\.\.)?$|^-?XXXX|-02-29/;
const overlap = (text) => {
  const ends = text.split("/");
  return ends.length === 2 && ours(ends).every((end) => end !== "refused");
};
compare("damaged strings are taken or refused alike", Array.from({ length: 2000 }, damaged), (text, us, them) =>
  (us === "refused") === (them === "refused") ||
  (us === "refused" ? theirsOnly.test(text) : togetherOnly.test(text) || overlap(text)));

process.exit(failed ? 1 : 0);
