// The page's own computing against the library's: expressions of positions and the ranking of places, by the vectors and
// by 2,000 random expressions, good and bad. Needs no browser.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import vm from "node:vm";
import { Checks } from "./browser.mjs";

const program = process.argv[3];
const root = join(dirname(new URL(import.meta.url).pathname), "..", "..");
const checks = new Checks();
const sources = ["plan", "expression", "ranking"].map((name) => readFileSync(`${root}/converters/html/${name}.js`, "utf8"));
const page = vm.runInNewContext(`${sources.join("\n")}; ({ planOf, planPlace, planFromPane, readExpression, writeExpression,
  positionsOf, thingsSeen, rankPlaces, lookNext, alikeness })`, { TextEncoder, Math });

function read(plan, expression) {
  try {
    const { set, state } = page.readExpression(plan, expression);
    return { positions: page.positionsOf(set), state };
  } catch (fault) {
    if (!fault.rule) throw fault;
    return { rule: fault.rule, character: fault.character };
  }
}

function askLibrary(questions) {
  const input = questions.map((one) => JSON.stringify(one)).join("\n");
  return execFileSync(join(dirname(program), "tests", "positions_read"), { input, maxBuffer: 1 << 28 }).toString().trim().split("\n").map((line) => JSON.parse(line));
}

const vectors = (name) => JSON.parse(readFileSync(`${root}/testvectors/${name}.json`, "utf8"));

{
  const { layouts, cases } = vectors("expressions/good");
  const wrong = cases.filter((one) => {
    const plan = page.planOf(layouts[one.layout]), found = read(plan, one.expression);
    const wanted = one.positions?.map(([pane, row, column]) => page.planFromPane(plan, pane, row, column)).sort((a, b) => a - b);
    return found.rule || (wanted ? JSON.stringify(found.positions) !== JSON.stringify(wanted) : found.positions.length !== one.count);
  });
  checks.equal(`${cases.length} good expressions of the vectors`, wrong, []);
  const bad = vectors("expressions/bad");
  // Which states a plate has is not the expression's affair here: R212 on names of states is left to the library.
  const refused = bad.cases.filter((one) => !(one.rule === "R212" && bad.layouts[one.layout].states));
  const missed = refused.map((one) => [one, read(page.planOf(bad.layouts[one.layout]), one.expression)])
    .filter(([one, found]) => found.rule !== one.rule || (one.character && found.character !== one.character));
  checks.equal(`${refused.length} bad expressions of the vectors`, missed, []);
}

// xorshift32 (Marsaglia, "Xorshift RNGs", 2003): the same expressions every time.
let seed = 20240501;
const below = (n) => {
  seed ^= seed << 13; seed ^= seed >>> 17; seed ^= seed << 5;
  return (seed >>> 0) % n;
};
const pick = (list) => list[below(list.length)];

const LAYOUTS = [
  { rows: 12, columns: 10, label: "1" },
  { rows: 20, columns: 12, corner_letters: true, label: "9" },
  { rows: 4, columns: 3, numbering: "down" },
  { rows: 10, columns: 10, panes_across: 2, label: "1" },
  { rows: 5, columns: 6, panes_across: 2, panes_down: 2, label: "E2" },
  { rows: 2, columns: 3, panes_across: 2, numbering: "across_sheet" },
  { rows: 2, columns: 2, panes_across: 2, pane_names: "Écu,É", label: "X" },
  { rows: 3, columns: 3, panes_across: 5, numbering: "down", corner_letters: true },
];

// Mostly what fits the layout; good ones would be rare otherwise.
function clause(layout) {
  const { names, letters } = page.planOf(layout);
  const n = () => below(12) ? 1 + below(pick([2, 3, 4, 6, 10])) : below(130);
  const range = () => { const first = n(); return below(2) ? `${first}` : `${first}-${below(15) ? first + below(3) : n()}`; };
  const pane = names && below(8) ? pick(names) : pick(["L", "R", "UL", "lr", "A", "Écu", "É", "Q"]);
  const simple = [() => `row ${range()}`, () => `column ${range()}`, () => "any", ...(names ? [() => `${n()}${pane}`, () => `pane ${pane} and ${range()}`, () => `pane ${pane}`]
    : [range, range, () => `R${n()}/${n()}`]), ...(letters ? [() => pick(["AA", "bC", "Cb"])] : [])];
  return pick(below(5) ? simple : [range, range, range, () => `row ${range()}`, () => `column ${range()}`, () => `R${n()}/${n()}`, () => "any",
    () => pick(["AA", "tl", "ZZ", "bC"]), () => `pane ${pane}`, () => `${n()}${pane}`, () => `${n()}${pane}${pick(["1", "E2", "X", "7"])}${pick(["", "E", "(l)", "(", "Early"])}`,
    () => `pane ${pane} and ${range()}`])();
}

function expression(layout) {
  const part = () => Array.from({ length: pick([1, 1, 1, 1, 2]) }, () => clause(layout)).join(pick([" and ", " AND "]));
  const list = () => Array.from({ length: pick([1, 1, 1, 2, 3]) }, part).join(pick([",", ", ", " , "]));
  let text = below(4) ? list() : `${list()} but not ${list()}`;
  for (let i = below(3) ? 0 : 1 + below(3); i > 0; i--) {
    const all = [...text], at = below(all.length + 1), before = all.slice(0, at).join("");
    text = pick([before + pick([" ", ",", "-", "/", "é", "–", "\t", "R", "9", "(", "🐦", "and"]) + all.slice(at).join(""), before + all.slice(at + 1).join("")]);
  }
  return text;
}

{
  const questions = Array.from({ length: 2000 }, () => {
    const layout = pick(LAYOUTS);
    return { layout, expression: expression(layout) };
  });
  const wanted = askLibrary(questions), apart = [];
  let good = 0;
  questions.forEach((one, i) => {
    const plan = page.planOf(one.layout), found = read(plan, one.expression);
    good += found.positions ? 1 : 0;
    if (JSON.stringify(found) !== JSON.stringify(wanted[i])) apart.push([one, found, wanted[i]]);
  });
  checks.equal(`2,000 random expressions (${good} good, ${2000 - good} bad): positions, rule and character`, apart.slice(0, 5), []);
  checks.ok("both kinds are among them", good > 300 && good < 1700, good);
  // What the map writes means the same to the library.
  const sets = Array.from({ length: 300 }, () => {
    const layout = pick(LAYOUTS), plan = page.planOf(layout), set = new Uint8Array(plan.count);
    for (let i = below(12) + 1; i > 0; i--) set.fill(1, below(plan.count), below(plan.count) + below(4) + 1);
    set[below(plan.count)] = 1;
    return { layout, plan, set };
  });
  const back = askLibrary(sets.map(({ layout, plan, set }) => ({ layout, expression: page.writeExpression(plan, set) })));
  checks.equal("300 maps as expressions, read back by the library", back.filter((one, i) => JSON.stringify(one.positions) !== JSON.stringify([...page.positionsOf(sets[i].set)])), []);
}

{
  const parameters = JSON.parse(readFileSync(`${process.argv[2]}/plain.html`, "utf8").match(/"ranking":(\{[^}]*\})/)[1]); // the library's own, as it writes them into every page
  const spotOf = (one) => one.x !== undefined && one.y !== undefined ? { x: one.x, y: one.y } : null;
  const { cases } = vectors("ranking/clauses");
  for (const one of cases) {
    const plates = one.plates.map((plate) => {
      const plan = page.planOf(plate), states = plate.states ?? [null];
      const stateOf = (name, otherwise) => name === undefined ? otherwise : states.indexOf(name);
      const marks = one.marks.filter((mark) => (mark.plate ?? one.plates[0].label) === plate.label).map((mark) => ({
        set: mark.positions ? page.readExpression(plan, mark.positions).set : null, first: stateOf(mark.first_state, 0), last: stateOf(mark.last_state, Infinity),
        appearance: mark.appearance, reEntry: mark.cause === "re_entry", spot: spotOf(mark), spread: mark.spread, visibility: mark.visibility }));
      return { plan, states: states.length, out: new Set((plate.not_begun ?? []).map((name) => states.indexOf(name))),
        within: plate.within ? page.readExpression(plan, plate.within).set : null, pitchX: plate.pitch_x ?? 0, pitchY: plate.pitch_y ?? 0, marks };
    });
    const observations = one.observations.map((seen) => ({ id: seen.id, by: seen.by, appearance: seen.appearance, spot: spotOf(seen), seen: seen.seen ?? "present" }));
    const places = page.rankPlaces(parameters, plates, page.thingsSeen(observations, parameters.together));
    const found = new Map(places.map((place) => [`${one.plates[place.plate].label} ${place.position} ${one.plates[place.plate].states?.[place.state] ?? ""}`, place.weight]));
    const apart = one.weights.filter((wanted) => {
      const plate = page.planOf(one.plates.find((p) => p.label === wanted.plate));
      const index = wanted.pane === undefined ? wanted.position - 1 : page.planOf && wanted.position - 1 + wanted.pane * plate.perField;
      return !(Math.abs(found.get(`${wanted.plate} ${index} ${wanted.state ?? ""}`) - wanted.weight) < 2e-6);
    });
    checks.ok(`ranking: ${one.name}`, apart.length === 0 && found.size >= one.weights.length, JSON.stringify([apart.slice(0, 3), [...found].slice(0, 4)]));
  }
}
checks.end();
