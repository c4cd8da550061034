// The map of a plate: a button for each position, reached with the arrow keys.
function plateMap(plan, options) {
  const { label, pressed, changed } = options;
  const columns = plan.columns * plan.across, rows = plan.rows * plan.down;
  const grid = make("div", { className: "plate", role: "grid", "aria-label": label });
  grid.style.setProperty("--columns", columns);
  const cells = [];
  let at = positionsOf(pressed)[0] ?? 0;
  const show = (index) => {
    const cell = cells[index], weight = options.weights?.[index];
    cell.setAttribute("aria-selected", String(Boolean(pressed[index])));
    cell.classList.toggle("dim", weight !== undefined && weight < 0.001);
    cell.classList.toggle("likely", weight !== undefined && weight >= 0.05);
    cell.tabIndex = index === at ? 0 : -1;
    const place = planPlace(plan, index), likely = weight === undefined ? "" : weight < 0.001 ? ", does not fit" : `, weight ${weight.toFixed(3)}`;
    cell.setAttribute("aria-label", `${planNumber(plan, index)}, row ${place.row}, stamp ${place.column}${likely}`);
  };
  const go = (index) => {
    const before = at;
    at = index;
    show(before);
    show(at);
    cells[at].focus();
  };
  const keys = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };
  grid.addEventListener("keydown", (event) => {
    if (!keys[event.key]) return;
    const place = planPlace(plan, at), [down, across] = keys[event.key];
    const next = planFromSheet(plan, place.sheetRow + down, place.sheetColumn + across);
    event.preventDefault();
    if (next >= 0) go(next);
  });
  for (let row = 1; row <= rows; row++) {
    const line = make("div", { role: "row" });
    for (let column = 1; column <= columns; column++) {
      const index = planFromSheet(plan, row, column), place = planPlace(plan, index);
      const cell = make("button", { type: "button", role: "gridcell", textContent: planNumber(plan, index), onclick: () => {
        pressed[index] = pressed[index] ? 0 : 1;
        go(index);
        changed(pressed);
      } });
      if (place.column === 1 && place.pane % plan.across) cell.classList.add("pane-left");
      if (place.row === 1 && place.pane >= plan.across) cell.classList.add("pane-top");
      cells[index] = cell;
      line.append(cell);
    }
    grid.append(line);
  }
  cells.forEach((_, index) => show(index));
  return { element: grid, update(set, newWeights) {
    pressed.set(set);
    if (newWeights !== undefined) options.weights = newWeights;
    cells.forEach((_, index) => show(index));
  } };
}
