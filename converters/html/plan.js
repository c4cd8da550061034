// Plates: where each position lies and what it is called (spec/plates.md). A position is an index from 0 in the order
// of its number; rows, columns and numbers count in a field: the pane, or with across_sheet the whole sheet.
const POSITIONS_MOST = 100000;

const isAsciiLetter = (c) => /^[A-Za-z]$/.test(c);
const foldAscii = (text) => text.replace(/[a-z]/g, (c) => c.toUpperCase());
const namesEqual = (a, b) => foldAscii(a) === foldAscii(b);

function usualPaneName(across, down, pane) {
  if (across === 2 && down === 1) return ["L", "R"][pane];
  if (across === 1 && down === 2) return ["T", "B"][pane];
  if (across === 2 && down === 2) return ["UL", "UR", "LL", "LR"][pane];
  let name = "";
  for (let left = pane + 1; left; left = Math.floor((left - 1) / 26)) name = String.fromCharCode(65 + (left - 1) % 26) + name;
  return name;
}

// Of a layout as a plate's record has it; null where it is none.
function planOf(layout) {
  const rows = layout.rows, columns = layout.columns;
  const across = layout.panes_across || 1, down = layout.panes_down || 1;
  const count = rows * columns * across * down;
  if (!(rows > 0 && columns > 0) || count > POSITIONS_MOST) return null;
  const panes = across * down, wholeSheet = layout.numbering === "across_sheet";
  const given = typeof layout.pane_names === "string" ? layout.pane_names.split(",").map((name) => name.trim()) : layout.pane_names;
  let names = null;
  if (given && given.length) {
    if (given.length !== panes) return null;
    names = given;
  } else if (panes > 1) {
    names = Array.from({ length: panes }, (_, pane) => usualPaneName(across, down, pane));
  }
  return {
    rows, columns, across, down, panes, count, names, wholeSheet,
    label: layout.label ?? null,
    runsDown: layout.numbering === "down",
    letters: Boolean(layout.corner_letters) && rows * down <= 26 && columns * across <= 26,
    fields: wholeSheet ? 1 : panes,
    fieldRows: wholeSheet ? rows * down : rows,
    fieldColumns: wholeSheet ? columns * across : columns,
    perField: wholeSheet ? count : rows * columns,
  };
}

function planCell(plan, index) {
  const within = index % plan.perField;
  return {
    field: Math.floor(index / plan.perField),
    row: plan.runsDown ? within % plan.fieldRows : Math.floor(within / plan.fieldColumns),
    column: plan.runsDown ? Math.floor(within / plan.fieldRows) : within % plan.fieldColumns,
  };
}

const planIndex = (plan, field, row, column) =>
  field * plan.perField + (plan.runsDown ? column * plan.fieldRows + row : row * plan.fieldColumns + column);

function planPane(plan, index) {
  const cell = planCell(plan, index);
  return plan.wholeSheet ? Math.floor(cell.row / plan.rows) * plan.across + Math.floor(cell.column / plan.columns) : cell.field;
}

function planPlace(plan, index) {
  const cell = planCell(plan, index), pane = planPane(plan, index);
  const row = cell.row % plan.rows + 1, column = cell.column % plan.columns + 1;
  return {
    pane, row, column,
    number: index % plan.perField + 1,
    sheetRow: Math.floor(pane / plan.across) * plan.rows + row,
    sheetColumn: pane % plan.across * plan.columns + column,
  };
}

// From pane (0 …), row and column in it (1 …); -1 where there is no such place.
function planFromPane(plan, pane, row, column) {
  if (pane >= plan.panes || row < 1 || row > plan.rows || column < 1 || column > plan.columns) return -1;
  if (!plan.wholeSheet) return planIndex(plan, pane, row - 1, column - 1);
  return planIndex(plan, 0, Math.floor(pane / plan.across) * plan.rows + row - 1, pane % plan.across * plan.columns + column - 1);
}

function planFromSheet(plan, row, column) {
  if (row < 1 || row > plan.rows * plan.down || column < 1 || column > plan.columns * plan.across) return -1;
  const pane = Math.floor((row - 1) / plan.rows) * plan.across + Math.floor((column - 1) / plan.columns);
  return planFromPane(plan, pane, (row - 1) % plan.rows + 1, (column - 1) % plan.columns + 1);
}

function planFromLetters(plan, row, column) {
  if (!plan.letters) return -1;
  return planFromSheet(plan, foldAscii(row).charCodeAt(0) - 64, foldAscii(column).charCodeAt(0) - 64);
}

const planPaneCalled = (plan, name) => plan.names ? plan.names.findIndex((one) => namesEqual(one, name)) : -1;

function planStep(plan, index, down, across) {
  const place = planPlace(plan, index);
  return planFromPane(plan, place.pane, place.row + down, place.column + across);
}

// "7", or "7R" where the number alone would not do.
const planNumber = (plan, index) => `${index % plan.perField + 1}${plan.fields > 1 ? plan.names[planPane(plan, index)] : ""}`;
