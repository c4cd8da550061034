// Expressions that name positions on a plate (spec/expressions.md): read as the library reads them, with its rules.
class ExpressionFault extends Error {
  constructor(rule, text, at, message) {
    super(message);
    this.rule = rule;
    this.character = [...text.slice(0, at)].length + 1;
  }
}

const expressionWords = ["any", "and", "but", "not", "row", "column", "pane"];
const expressionJoints = ["and", "but", "not"];
const isOneOf = (word, words) => words.some((one) => namesEqual(one, word));
const isDigit = (c) => c >= "0" && c <= "9" && c.length === 1;
const isNameLetter = (c) => c !== undefined && c !== "" && (isAsciiLetter(c) || c.charCodeAt(0) >= 0x80);

class ExpressionReader {
  constructor(plan, text) {
    Object.assign(this, { plan, text, at: 0, work: 0, state: "" });
  }

  fail(rule, at, message) {
    throw new ExpressionFault(rule, this.text, at, message);
  }

  peek() {
    while (this.at < this.text.length && " \t\n\r".includes(this.text[this.at])) this.at++;
    return this.text[this.at] ?? "";
  }

  place() {
    this.peek();
    return this.at;
  }

  atEnd() {
    return this.place() === this.text.length;
  }

  word() {
    let end = this.place();
    while (end < this.text.length && isNameLetter(this.text[end])) end++;
    return this.text.slice(this.at, end);
  }

  takeWord(word) {
    const here = this.word();
    if (!namesEqual(here, word)) return false;
    this.at += here.length;
    return true;
  }

  takeChar(c) {
    if (this.peek() !== c) return false;
    this.at++;
    return true;
  }

  whose() {
    return `${this.plan.fields > 1 ? "a pane of " : ""}${this.plan.label ? `plate ${this.plan.label}` : "the plate"}`;
  }

  number(what, most) {
    if (this.atEnd()) this.fail("R200", this.at, "the expression ends where a number is expected");
    if (!isDigit(this.peek())) this.fail("R200", this.at, "a number is expected");
    const rule = what === "position" ? "R201" : "R202", start = this.at;
    let value = 0;
    for (; isDigit(this.text[this.at] ?? ""); this.at++) if (value <= POSITIONS_MOST) value = value * 10 + Number(this.text[this.at]);
    if (value === 0) this.fail(rule, start, `${what}s count from 1`);
    if (value > most) this.fail(rule, start, `${this.whose()} has ${most} ${what}${most === 1 ? "" : "s"}`);
    return value;
  }

  range(what, most) {
    const start = this.place(), first = this.number(what, most);
    if (!this.takeChar("-")) return [first - 1, first - 1];
    const last = this.number(what, most);
    if (last < first) this.fail("R206", start, `the range ${first}-${last} is empty`);
    return [first - 1, last - 1];
  }

  narrow(bounds, [first, last]) {
    bounds[0] = Math.max(bounds[0], first);
    bounds[1] = Math.min(bounds[1], last);
  }

  one(index) {
    this.part.nothing ||= this.part.one !== -1 && this.part.one !== index;
    this.part.one = index;
  }

  needsPane(at) {
    if (this.plan.fields > 1 && at < this.unclearAt) this.unclearAt = at;
  }

  cellClause(start) {
    const row = this.number("row", this.plan.fieldRows);
    if (!this.takeChar("/")) this.fail("R200", this.at, "\"/\" is expected between row and column");
    const column = this.number("column", this.plan.fieldColumns);
    this.narrow(this.part.rows, [row - 1, row - 1]);
    this.narrow(this.part.columns, [column - 1, column - 1]);
    this.needsPane(start);
  }

  unknownPane(name, at) {
    const why = this.plan.names ? `(its panes are ${this.plan.names.join(", ")})` : "(it has only one pane)";
    this.fail("R203", at, `there is no pane "${name}" ${why}`);
  }

  paneClause() {
    const name = this.word(), at = this.at;
    if (name === "") this.fail("R200", at, "the name of a pane is expected");
    const pane = planPaneCalled(this.plan, name);
    if (pane < 0) this.unknownPane(name, at);
    this.at += name.length;
    this.part.nothing ||= this.part.pane !== -1 && this.part.pane !== pane;
    this.part.pane = pane;
    this.paneSaid = true;
  }

  lettersClause(word, start) {
    if (!this.plan.letters) this.fail("R205", start, `"${word}": the plate has no corner letters`);
    const index = planFromLetters(this.plan, word[0], word[1]);
    if (index < 0) {
      const row = String.fromCharCode(64 + this.plan.rows * this.plan.down), column = String.fromCharCode(64 + this.plan.columns * this.plan.across);
      this.fail("R205", start, `its corner letters end at ${row}${column}`);
    }
    this.at += word.length;
    this.one(index);
    this.paneSaid = true;
  }

  wordClause() {
    const word = this.word(), start = this.at;
    if (this.takeWord("any")) return;
    if (this.takeWord("row")) this.narrow(this.part.rows, this.range("row", this.plan.fieldRows));
    else if (this.takeWord("column")) this.narrow(this.part.columns, this.range("column", this.plan.fieldColumns));
    else if (this.takeWord("pane")) this.paneClause();
    else if (this.takeWord("R")) this.cellClause(start);
    else if (/^[A-Za-z]{2}$/.test(word)) this.lettersClause(word, start);
    else this.fail("R200", start, `"${word}" is not a word of expressions`);
  }

  labelHere(at) {
    const label = this.plan.label;
    if (!label || !namesEqual(this.text.slice(at, at + label.length), label)) return false;
    return !(isDigit(label[label.length - 1]) && isDigit(this.text[at + label.length] ?? ""));
  }

  otherLabel() {
    let end = this.at;
    while (end < this.text.length && (isDigit(this.text[end]) || isNameLetter(this.text[end]))) end++;
    const said = this.text.slice(this.at, end);
    this.fail("R204", this.at, `plate "${said}" is meant: this ${this.plan.label ? `is plate ${this.plan.label}` : "plate has no label"}`);
  }

  stateSaid(initial, at) {
    if (this.state && !namesEqual(this.state, initial)) this.fail("R212", at, `two states are named: ${this.state} and ${initial}`);
    this.state = initial;
  }

  labelAndState() {
    const next = this.peek();
    if (!this.labelHere(this.at)) {
      if (isDigit(next) || (isNameLetter(next) && !isOneOf(this.word(), expressionWords))) this.otherLabel();
      return;
    }
    this.at += this.plan.label.length;
    const bracket = this.takeChar("("), initial = this.word();
    if (!bracket && (initial === "" || isOneOf(initial, expressionWords))) return;
    if (initial === "") this.fail("R200", this.at, "the initial of a state is expected");
    const at = this.at;
    this.at += initial.length;
    if (bracket && !this.takeChar(")")) this.fail("R200", this.at, "\")\" is expected");
    this.stateSaid(initial, at);
  }

  // The pane whose name begins the run: the whole run, or what is left of it begins the plate's label.
  paneHere(run) {
    const whole = planPaneCalled(this.plan, run);
    if (whole >= 0) return [whole, run.length];
    for (let length = run.length - 1; length >= 1; length--) {
      const pane = planPaneCalled(this.plan, run.slice(0, length));
      if (pane >= 0 && this.labelHere(this.at + length)) return [pane, length];
    }
    return [-1, 0];
  }

  inPane(number, start) {
    const run = this.word(), at = this.at, [pane, length] = this.paneHere(run);
    if (pane < 0) this.unknownPane(run, at);
    this.at += length;
    const index = this.plan.wholeSheet ? number - 1 : pane * this.plan.perField + number - 1;
    const lies = planPane(this.plan, index);
    if (lies !== pane) this.fail("R201", start, `position ${number} is in pane ${this.plan.names[lies]}`);
    this.one(index);
    this.paneSaid = true;
    this.labelAndState();
  }

  numberClause() {
    const start = this.at, [first, last] = this.range("position", this.plan.perField), word = this.word();
    if (/^[\u2012-\u2015\u2212]/.test(word)) this.fail("R200", this.at, "this dash does not make a range");
    const ranged = this.text.slice(start, this.at).includes("-"), named = word !== "" && !isOneOf(word, expressionWords);
    if (named && ranged) this.fail("R200", this.at, "a range takes no pane behind it");
    if (named) {
      this.inPane(first + 1, start);
      return;
    }
    this.narrow(this.part.numbers, [first, last]);
    this.needsPane(start);
  }

  clause() {
    if (this.atEnd()) this.fail("R200", this.at, "the expression ends where a position is expected");
    const next = this.peek();
    if (isDigit(next)) this.numberClause();
    else if (isNameLetter(next) && !isOneOf(this.word(), expressionJoints)) this.wordClause();
    else this.fail("R200", this.at, "a position is expected");
  }

  // Marks the part's positions; how many stretches of numbers that were.
  fill(set) {
    const { plan, part } = this;
    if (part.nothing) return 0;
    const inside = (bounds, value) => value >= bounds[0] && value <= bounds[1];
    if (part.one !== -1) {
      const cell = planCell(plan, part.one);
      const fits = inside(part.rows, cell.row) && inside(part.columns, cell.column) && inside(part.numbers, part.one % plan.perField) &&
        (part.pane === -1 || part.pane === planPane(plan, part.one));
      if (fits) set[part.one] = 1;
      return fits ? 1 : 0;
    }
    let firstField = 0, lastField = plan.fields - 1;
    if (part.pane !== -1 && plan.wholeSheet) {
      const above = Math.floor(part.pane / plan.across) * plan.rows, before = part.pane % plan.across * plan.columns;
      this.narrow(part.rows, [above, above + plan.rows - 1]);
      this.narrow(part.columns, [before, before + plan.columns - 1]);
    } else if (part.pane !== -1) {
      firstField = lastField = part.pane;
    }
    if (part.rows[1] < part.rows[0] || part.columns[1] < part.columns[0] || part.numbers[1] < part.numbers[0]) return 0;
    const [lines, over, length] = plan.runsDown ? [part.columns, part.rows, plan.fieldRows] : [part.rows, part.columns, plan.fieldColumns];
    let touched = 0;
    for (let field = firstField; field <= lastField; field++) {
      const from = Math.max(lines[0], Math.floor(part.numbers[0] / length)), to = Math.min(lines[1], Math.floor(part.numbers[1] / length));
      for (let line = from; line <= to; line++) {
        const first = Math.max(line * length + over[0], part.numbers[0]), last = Math.min(line * length + over[1], part.numbers[1]);
        if (last < first) continue;
        set.fill(1, field * plan.perField + first, field * plan.perField + last + 1);
        touched++;
      }
    }
    return touched;
  }

  readPart(set) {
    const { plan } = this;
    this.part = { rows: [0, plan.fieldRows - 1], columns: [0, plan.fieldColumns - 1], numbers: [0, plan.perField - 1], pane: -1, one: -1, nothing: false };
    const start = this.place();
    this.unclearAt = Infinity;
    this.paneSaid = false;
    do this.clause(); while (this.takeWord("and"));
    if (this.unclearAt !== Infinity && !this.paneSaid) this.fail("R208", this.unclearAt, `each of the ${plan.panes} panes has such a position`);
    const touched = this.fill(set);
    if (!touched) this.fail("R207", start, "no position is all of this at once");
    this.work += touched;
    if (this.work > 65536 + 16 * plan.count) this.fail("R209", start, "the expression names the same positions over and over");
  }

  alternatives(set) {
    do this.readPart(set); while (this.takeChar(","));
  }

  all() {
    const most = 1024 + 16 * this.plan.count, length = new TextEncoder().encode(this.text).length;
    if (length > most) this.fail("R209", 0, `the expression is ${length} bytes long, the most for this plate is ${most}`);
    const set = new Uint8Array(this.plan.count);
    this.alternatives(set);
    const start = this.place();
    if (this.atEnd()) return set;
    if (!this.takeWord("but")) this.fail("R200", start, "\",\", \"and\" or \"but not\" is expected");
    if (!this.takeWord("not")) this.fail("R200", this.place(), "\"not\" is expected after \"but\"");
    const away = new Uint8Array(this.plan.count);
    this.alternatives(away);
    if (!this.atEnd()) this.fail("R200", this.at, "\",\" or \"and\" is expected");
    let left = 0;
    for (let i = 0; i < set.length; i++) left += set[i] = set[i] & ~away[i] & 1;
    if (!left) this.fail("R207", start, "nothing is left");
    return set;
  }
}

// { set, state }, or throws an ExpressionFault with rule, character and message.
function readExpression(plan, text) {
  const reader = new ExpressionReader(plan, text);
  const set = reader.all();
  return { set, state: reader.state };
}

const positionsOf = (set) => [...set.keys()].filter((index) => set[index]);

// "10 positions: 4, 24, 34 …"
function echoPositions(plan, set, most = 24) {
  const all = positionsOf(set), told = all.slice(0, most).map((index) => planNumber(plan, index)).join(", ");
  return `${all.length} position${all.length === 1 ? "" : "s"}: ${told}${all.length > most ? " …" : ""}`;
}

// An expression of a set: runs of numbers. The library finds the shortest one; this one names the same positions.
function writeExpression(plan, set) {
  const all = positionsOf(set);
  if (all.length === plan.count) return "any";
  const parts = [];
  for (let i = 0; i < all.length;) {
    let j = i;
    while (j + 1 < all.length && all[j + 1] === all[j] + 1 && Math.floor(all[j + 1] / plan.perField) === Math.floor(all[i] / plan.perField)) j++;
    const first = all[i] % plan.perField + 1, last = all[j] % plan.perField + 1;
    if (i === j) parts.push(planNumber(plan, all[i]));
    else if (plan.fields > 1) parts.push(`pane ${plan.names[planPane(plan, all[i])]} and ${first}-${last}`);
    else parts.push(`${first}-${last}`);
    i = j + 1;
  }
  return parts.join(", ");
}
