// Two scans side by side, or overlaid, brought together by two points on each.
let pair = null;

// z -> s z + t that takes b1, b2 to a1, a2: scale, rotation and shift.
function similarity([a1, a2], [b1, b2]) {
  const ax = a2.x - a1.x, ay = a2.y - a1.y, bx = b2.x - b1.x, by = b2.y - b1.y, n = bx * bx + by * by;
  if (n < 1 || ax * ax + ay * ay < 1) return null;
  const a = (ax * bx + ay * by) / n, b = (ay * bx - ax * by) / n;
  return [a, b, a1.x - (a * b1.x - b * b1.y), a1.y - (b * b1.x + a * b1.y)];
}

// Before any points are given: by the resolutions of the two, middle upon middle.
function usualMatrix(one, other) {
  const by = one.perMm[0] && other.perMm[0] ? one.perMm[0] / other.perMm[0] : one.wide / other.wide;
  return [by, 0, one.wide / 2 - by * other.wide / 2, one.high / 2 - by * other.high / 2];
}

function showPair(keep) {
  const over = find("#compare-mode").value === "over", opacity = pair.blink ? 0 : Number(find("#compare-opacity").value);
  find("#compare").classList.toggle("over", over);
  pair.second.canvas.hidden = over;
  find("#compare-opacity").disabled = !over;
  if (over) pair.first.show([{ picture: pair.a }, { picture: pair.b, matrix: pair.matrix, opacity }], keep);
  else {
    pair.first.show([{ picture: pair.a }], keep);
    pair.second.show([{ picture: pair.b }], keep);
  }
}

// The points that were chosen, numbered.
function paintPoints(side) {
  const view = side ? pair.second : pair.first;
  return (context) => (pair.points ?? []).forEach((place, i) => {
    if (i % 2 !== side) return;
    const at = view.onCanvas(place);
    for (const [colour, wide] of [["#000", 5], ["#ffd75e", 2]]) view.paintRing(context, at, 9, wide, colour);
    context.font = `bold ${15 * view.ratio}px sans-serif`;
    context.lineWidth = 4 * view.ratio;
    context.strokeStyle = "#000";
    context.strokeText(`${(i >> 1) + 1}`, at.x + 14 * view.ratio, at.y + 5 * view.ratio);
    context.fillStyle = "#ffd75e";
    context.fillText(`${(i >> 1) + 1}`, at.x + 14 * view.ratio, at.y + 5 * view.ratio);
  });
}

function choosePair() {
  pair.a = pictureOf(find("#compare-first").value);
  pair.b = pictureOf(find("#compare-second").value);
  pair.matrix = usualMatrix(pair.a, pair.b);
  pair.points = null;
  pair.first.canvas.setAttribute("aria-label", `First: ${pair.a.image.alt}`);
  pair.second.canvas.setAttribute("aria-label", `Second: ${pair.b.image.alt}`);
  showPair(false);
}

const steps = ["Choose a point on the first scan.", "Choose the same point on the second scan.", "Choose another point on the first scan, far from the one before.", "Choose the same point on the second scan."];

function beginPoints() {
  pair.points = [];
  find("#compare-mode").value = "side";
  showPair(false);
  tellStep(steps[0]);
  pair.first.canvas.focus();
}

function tellStep(text) {
  find("#compare-told").textContent = text;
}

function takePoint(side, place) {
  if (!pair.points || pair.points.length % 2 !== side) return;
  pair.points.push(place);
  (side ? pair.second : pair.first).draw();
  if (pair.points.length < 4) {
    tellStep(steps[pair.points.length]);
    (side ? pair.first : pair.second).canvas.focus();
    return;
  }
  const [a1, b1, a2, b2] = pair.points, found = similarity([a1, a2], [b1, b2]);
  pair.points = null;
  if (!found) {
    tellStep("The two points lie together. Begin again.");
    return;
  }
  pair.matrix = found;
  const scale = Math.hypot(found[0], found[1]), turned = Math.atan2(found[1], found[0]) * 180 / Math.PI;
  find("#compare-mode").value = "over";
  showPair(false);
  tellStep(`Aligned: the second is scaled by ${scale.toFixed(3)} and turned by ${turned.toFixed(2)} degrees. Hold the space bar, or the button, to see the first alone.`);
}

function blink(on) {
  if (find("#compare-mode").value !== "over" || pair.blink === on) return;
  pair.blink = on;
  showPair(true);
}

function openCompare() {
  const scans = findAll("figure.scan").map((figure) => byId.get(figure.dataset.scan)).filter((scan) => scan && pictureOf(scan.id));
  if (scans.length < 2) {
    tell("There are no two pictures here to compare.");
    return;
  }
  if (!pair) {
    pair = { first: new View(find("#compare-canvas-first")), second: new View(find("#compare-canvas-second")) };
    wireCompare(scans);
  }
  find("#compare").showModal();
  choosePair();
}

function wireCompare(scans) {
  const on = (id, event, act) => find(id).addEventListener(event, act);
  const names = scans.map((scan, i) => new Option(`${i + 1}: ${labelOf(scan.fields.item)}, ${nameOfScan(scan)}`, scan.id));
  find("#compare-first").replaceChildren(...names.map((one) => one.cloneNode(true)));
  find("#compare-second").replaceChildren(...names);
  const fronts = scans.filter((scan) => scan.fields.side === "front"), [one, other] = fronts.length > 1 ? fronts : scans;
  find("#compare-first").value = one.id;
  find("#compare-second").value = other.id;
  pair.first.over = paintPoints(0);
  pair.second.over = paintPoints(1);
  pair.first.clicked = (place) => takePoint(0, place);
  pair.second.clicked = (place) => takePoint(1, place);
  on("#compare-first", "change", choosePair);
  on("#compare-second", "change", choosePair);
  on("#compare-mode", "change", () => showPair(false));
  on("#compare-opacity", "input", () => showPair(true));
  on("#compare-points", "click", beginPoints);
  on("#compare-close", "click", () => find("#compare").close());
  on("#compare-blink", "pointerdown", () => blink(true));
  for (const event of ["pointerup", "pointerleave", "pointercancel"]) on("#compare-blink", event, () => blink(false));
  find("#compare").addEventListener("keydown", (event) => {
    if (event.key !== " " || ["SELECT"].includes(event.target.tagName) || (event.target.tagName === "BUTTON" && event.target.id !== "compare-blink")) return;
    event.preventDefault();
    blink(true);
  });
  find("#compare").addEventListener("keyup", (event) => { if (event.key === " ") blink(false); });
}
