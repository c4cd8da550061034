// Looking at a scan: to the pixel, turned, mirrored, in one colour, with more contrast; and marking what one sees.
// A place is { x, y } in pixels of the scan as it is looked at (upright).
class View {
  constructor(canvas) {
    this.canvas = canvas;
    this.layers = [];
    this.reset();
    this.grips = [];
    new ResizeObserver(() => { this.fitCanvas(); this.draw(); }).observe(canvas);
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / 400), this.placeOf(event));
    }, { passive: false });
    canvas.addEventListener("pointerdown", (event) => this.press(event));
    canvas.addEventListener("pointermove", (event) => this.drag(event));
    canvas.addEventListener("pointerup", (event) => this.release(event));
    canvas.addEventListener("pointercancel", () => this.grips = []);
    canvas.addEventListener("keydown", (event) => this.key(event));
    for (const event of ["focus", "blur"]) canvas.addEventListener(event, () => this.draw());
  }

  reset() {
    Object.assign(this, { scale: 0, turn: 0, mirror: false, contrast: 1, channel: "all", lens: false, pointer: null });
  }

  // layers: { picture, matrix: [a, b, c, d] for z -> (a + bi) z + (c + di), opacity }
  show(layers, keep = false) {
    this.layers = layers;
    if (!keep || !this.scale) this.fit();
    for (const { picture } of layers) picture.image.decode?.().then(() => this.draw(), () => {});
    this.draw();
  }

  fitCanvas() {
    const ratio = devicePixelRatio || 1, { clientWidth, clientHeight } = this.canvas;
    this.canvas.width = Math.max(1, Math.round(clientWidth * ratio));
    this.canvas.height = Math.max(1, Math.round(clientHeight * ratio));
    this.ratio = ratio;
  }

  fit() {
    if (!this.layers.length) return;
    this.fitCanvas();
    const { wide, high } = this.layers[0].picture;
    this.center = { x: wide / 2, y: high / 2 };
    const turned = this.turn % 2;
    this.scale = Math.min(this.canvas.width / (turned ? high : wide), this.canvas.height / (turned ? wide : high)) * 0.98;
    this.draw();
  }

  zoom(by, at = this.center) {
    const before = this.scale;
    this.scale = Math.min(64, Math.max(0.01, this.scale * by));
    const k = 1 - before / this.scale;
    this.center = { x: this.center.x + (at.x - this.center.x) * k, y: this.center.y + (at.y - this.center.y) * k };
    this.draw();
  }

  pixelForPixel() {
    this.scale = 1;
    this.draw();
  }

  turnBy(quarters) {
    this.turn = (this.turn + quarters + 4) % 4;
    this.draw();
  }

  // Canvas pixels from the middle, from pixels of the scan, and back.
  outward({ x, y }) {
    const angle = this.turn * Math.PI / 2, dx = (x - this.center.x) * (this.mirror ? -1 : 1), dy = y - this.center.y;
    return { x: (dx * Math.cos(angle) - dy * Math.sin(angle)) * this.scale, y: (dx * Math.sin(angle) + dy * Math.cos(angle)) * this.scale };
  }

  inward({ x, y }) {
    const angle = -this.turn * Math.PI / 2, dx = (x * Math.cos(angle) - y * Math.sin(angle)) / this.scale, dy = (x * Math.sin(angle) + y * Math.cos(angle)) / this.scale;
    return { x: this.center.x + dx * (this.mirror ? -1 : 1), y: this.center.y + dy };
  }

  placeOf(event) {
    const box = this.canvas.getBoundingClientRect();
    return this.inward({ x: (event.clientX - box.left) * this.ratio - this.canvas.width / 2, y: (event.clientY - box.top) * this.ratio - this.canvas.height / 2 });
  }

  press(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.grips.push({ id: event.pointerId, x: event.clientX, y: event.clientY, moved: false });
  }

  drag(event) {
    this.pointer = this.placeOf(event);
    this.moved?.(this.pointer);
    const grip = this.grips.find((one) => one.id === event.pointerId);
    if (!grip) {
      if (this.lens) this.draw();
      return;
    }
    const dx = event.clientX - grip.x, dy = event.clientY - grip.y;
    if (!grip.moved && Math.hypot(dx, dy) < 4) return;
    if (this.grips.length === 2) {
      const other = this.grips.find((one) => one !== grip), before = Math.hypot(grip.x - other.x, grip.y - other.y);
      this.zoom(Math.hypot(event.clientX - other.x, event.clientY - other.y) / Math.max(1, before));
    } else {
      const from = this.inward({ x: 0, y: 0 }), to = this.inward({ x: dx * this.ratio, y: dy * this.ratio });
      this.center = { x: this.center.x - (to.x - from.x), y: this.center.y - (to.y - from.y) };
      this.draw();
    }
    Object.assign(grip, { x: event.clientX, y: event.clientY, moved: true });
  }

  release(event) {
    const grip = this.grips.find((one) => one.id === event.pointerId);
    this.grips = this.grips.filter((one) => one !== grip);
    if (grip && !grip.moved) this.clicked?.(this.placeOf(event));
  }

  key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const step = (event.shiftKey ? 8 : 48) * this.ratio;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    const acts = { "+": () => this.zoom(1.25), "=": () => this.zoom(1.25), "-": () => this.zoom(0.8), 0: () => this.fit(), 1: () => this.pixelForPixel(),
      r: () => this.turnBy(1), R: () => this.turnBy(-1), m: () => { this.mirror = !this.mirror; this.draw(); }, Enter: () => this.clicked?.(this.center) };
    if (moves[event.key]) {
      this.center = this.inward({ x: moves[event.key][0], y: moves[event.key][1] });
      this.moved?.(this.center);
      this.draw();
    } else if (acts[event.key]) {
      acts[event.key]();
    } else {
      return;
    }
    event.preventDefault();
  }

  draw() {
    if (!this.layers.length || this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => { this.waiting = false; this.paint(); });
  }

  place(context, scale = this.scale) {
    context.translate(this.canvas.width / 2, this.canvas.height / 2);
    context.rotate(this.turn * Math.PI / 2);
    context.scale(this.mirror ? -scale : scale, scale);
    context.translate(-this.center.x, -this.center.y);
  }

  paint() {
    const context = this.canvas.getContext("2d", { willReadFrequently: true });
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    for (const { picture, matrix = [1, 0, 0, 0], opacity = 1 } of this.layers) {
      context.save();
      this.place(context);
      const [a, b, c, d] = matrix;
      context.transform(a, b, -b, a, c, d);
      context.globalAlpha = opacity;
      context.imageSmoothingEnabled = this.scale < 2;
      if (picture.image.complete && picture.image.naturalWidth) context.drawImage(picture.image, 0, 0, picture.wide, picture.high);
      context.restore();
    }
    const lens = this.lens && this.pointer;
    if (lens) this.paintLens(context);
    this.change(context);
    if (lens) this.paintRing(context, this.onCanvas(this.pointer), 90, 2);
    this.paintScale(context);
    this.over?.(context);
    if (document.activeElement === this.canvas) this.paintCross(context);
  }

  // In pixels of the canvas, from pixels of the scan.
  onCanvas(place) {
    const at = this.outward(place);
    return { x: at.x + this.canvas.width / 2, y: at.y + this.canvas.height / 2 };
  }

  paintRing(context, { x, y }, radius, wide, colour = "#fff") {
    context.lineWidth = wide * this.ratio;
    context.strokeStyle = colour;
    context.beginPath();
    context.arc(x, y, radius * this.ratio, 0, 2 * Math.PI);
    context.stroke();
  }

  // Where the keyboard is: about the middle.
  paintCross(context) {
    const x = this.canvas.width / 2, y = this.canvas.height / 2;
    for (const [colour, wide] of [["#000", 5], ["#fff", 3]]) {
      context.strokeStyle = colour;
      context.lineWidth = wide * this.ratio;
      context.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        context.moveTo(x + dx * 4 * this.ratio, y + dy * 4 * this.ratio);
        context.lineTo(x + dx * 12 * this.ratio, y + dy * 12 * this.ratio);
      }
      context.stroke();
    }
  }

  // One colour of the light, and contrast about the mean of what is seen: faint lines come out.
  change(context) {
    if (this.contrast === 1 && this.channel === "all") return;
    const frame = context.getImageData(0, 0, this.canvas.width, this.canvas.height), data = frame.data;
    const channel = { red: 0, green: 1, blue: 2 }[this.channel];
    let sum = [0, 0, 0], count = 0;
    for (let i = 0; i < data.length; i += 4 * 97) {
      if (!data[i + 3]) continue;
      for (let c = 0; c < 3; c++) sum[c] += data[i + (channel ?? c)];
      count++;
    }
    const mean = sum.map((one) => count ? one / count : 128);
    for (let i = 0; i < data.length; i += 4) {
      const one = channel === undefined ? 0 : data[i + channel];
      for (let c = 0; c < 3; c++) data[i + c] = mean[c] + ((channel === undefined ? data[i + c] : one) - mean[c]) * this.contrast;
    }
    context.putImageData(frame, 0, 0);
  }

  paintLens(context) {
    const { x, y } = this.onCanvas(this.pointer), radius = 90 * this.ratio, by = 4, { picture } = this.layers[0];
    context.save();
    context.beginPath();
    context.arc(x, y, radius, 0, 2 * Math.PI);
    context.clip();
    context.fillRect(x - radius, y - radius, 2 * radius, 2 * radius);
    context.translate(x, y);
    context.scale(by, by);
    context.translate(-x, -y);
    this.place(context);
    context.imageSmoothingEnabled = this.scale * by < 2;
    context.drawImage(picture.image, 0, 0, picture.wide, picture.high);
    context.restore();
  }

  // A bar of a round number of millimetres; nothing where the scan does not say its resolution.
  paintScale(context) {
    const perMm = this.layers[0].picture.perMm[0] * this.scale;
    if (!perMm) return;
    const length = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100].find((mm) => mm * perMm > 70 * this.ratio) ?? 200;
    const x = 16 * this.ratio, y = this.canvas.height - 20 * this.ratio, width = length * perMm;
    context.fillStyle = "#000c";
    context.fillRect(x - 8 * this.ratio, y - 22 * this.ratio, width + 16 * this.ratio, 34 * this.ratio);
    context.fillStyle = "#fff";
    context.fillRect(x, y, width, 3 * this.ratio);
    context.font = `${13 * this.ratio}px sans-serif`;
    context.fillText(`${length} mm`, x, y - 6 * this.ratio);
  }
}

// ---- the design's frame on a scan: by it a place becomes thousandths of the design ----

// The back shows nothing of the design's face.
const showsFace = (picture) => byId.get(picture.scan).fields.side !== "back";

// Where the design lies when nobody has said: in the middle, at its size; of a multiple at its row and column. On a
// scan that shows much else (a cover) nobody can tell.
function assumedFrame(picture, stamp) {
  const design = designOf(stamp)?.fields ?? {}, [x, y] = picture.perMm;
  if (!design.width_um || !design.height_um || !x || !y) return null;
  const w = design.width_um / 1000 * x, h = design.height_um / 1000 * y;
  if (w > picture.wide * 1.05 || h > picture.high * 1.05) return null;
  const plate = platesOf(stamp)[0]?.fields ?? {}, alone = byId.get(picture.scan).fields.stamp === stamp.id;
  const others = alone ? [stamp] : stampsOn(stamp.fields.item);
  const rows = Math.max(1, ...others.map((one) => one.fields.row ?? 1)), columns = Math.max(1, ...others.map((one) => one.fields.column ?? 1));
  if (w * h * rows * columns < picture.wide * picture.high / 8) return null;
  const across = (plate.pitch_x_um ?? design.width_um * 1.1) / 1000 * x, down = (plate.pitch_y_um ?? design.height_um * 1.1) / 1000 * y;
  return { x: picture.wide / 2 - w / 2 + ((alone ? 1 : stamp.fields.column ?? 1) - 1 - ((alone ? 1 : columns) - 1) / 2) * across,
    y: picture.high / 2 - h / 2 + ((alone ? 1 : stamp.fields.row ?? 1) - 1 - ((alone ? 1 : rows) - 1) / 2) * down, w, h };
}
const frameKey = (picture, stamp) => `${picture.scan} ${stamp.id}`;
const frameOf = (picture, stamp) => draft.frames[frameKey(picture, stamp)] ?? (showsFace(picture) ? assumedFrame(picture, stamp) : null);
const toDesign = (frame, place) => ({ x: Math.round((place.x - frame.x) / frame.w * 1000), y: Math.round((place.y - frame.y) / frame.h * 1000) });
const fromDesign = (frame, spot) => ({ x: frame.x + spot.x / 1000 * frame.w, y: frame.y + spot.y / 1000 * frame.h });

// ---- the looking window ----

let look = null;

// "front", "back: under the lamp", "scan"
const nameOfScan = ({ fields: { side, caption } }) => [side ?? "scan", caption === side ? "" : caption].filter(Boolean).join(": ");

function seenOn(stamp) {
  const others = ofType("observation").filter((one) => one.fields.stamp === stamp.id || (one.fields.item === stamp.fields.item && stampsOn(stamp.fields.item).length === 1));
  return [...others.map((one) => ({ ...one.fields, by: one.by })), ...answersOn(stamp.id, "observation").filter(standing).map((one) => ({ ...one.now, own: true }))];
}

function placeSeen(picture, stamp, seen) {
  if (seen.scan === picture.scan && seen.region) {
    const [x, y, w, h] = seen.region;
    return upright(picture, { x: x + w / 2, y: y + h / 2 });
  }
  const frame = frameOf(picture, stamp);
  return frame && seen.x !== undefined ? fromDesign(frame, seen) : null;
}

function paintSeen(context) {
  const { view, picture, stamp } = look, ratio = view.ratio;
  const frame = stamp && frameOf(picture, stamp);
  context.lineWidth = 2 * ratio;
  if (frame && find("#look-show").checked) {
    const corners = [[0, 0], [1000, 0], [1000, 1000], [0, 1000]].map(([x, y]) => view.onCanvas(fromDesign(frame, { x, y })));
    context.setLineDash([6 * ratio, 5 * ratio]);
    context.strokeStyle = "#fff";
    context.beginPath();
    corners.forEach(({ x, y }, i) => i ? context.lineTo(x, y) : context.moveTo(x, y));
    context.closePath();
    context.stroke();
    context.setLineDash([]);
  }
  for (const seen of stamp && find("#look-show").checked ? seenOn(stamp) : []) {
    const place = placeSeen(picture, stamp, seen);
    if (!place) continue;
    const at = view.onCanvas(place);
    for (const [colour, wide] of [["#000", 5], [seen.own ? "#ffd75e" : "#fff", 2]]) {
      if (!seen.own) {
        view.paintRing(context, at, 11, wide, colour);
        continue;
      }
      context.strokeStyle = colour;
      context.lineWidth = wide * ratio;
      context.strokeRect(at.x - 10 * ratio, at.y - 10 * ratio, 20 * ratio, 20 * ratio);
    }
  }
}

function tellPlace(place) {
  const { picture, stamp } = look, at = stored(picture, place), frame = stamp && frameOf(picture, stamp), [x, y] = picture.perMm;
  const mm = x && y ? `; ${(place.x / x).toFixed(2)}, ${(place.y / y).toFixed(2)} mm` : "", design = frame ? toDesign(frame, place) : null;
  find("#look-place").textContent = `Pixel ${Math.round(at.x)}, ${Math.round(at.y)}${mm}${design ? `; ${design.x}, ${design.y} thousandths of the design` : ""}`;
}

function clickPlace(place) {
  const { stamp, picture } = look, mode = find("#look-mode").value;
  if (mode === "look" || !stamp) return;
  if (mode === "frame") {
    setCorner(place);
    return;
  }
  const frame = frameOf(picture, stamp), side = Math.max(8, Math.round(Math.max(picture.wide, picture.high) / 60));
  const at = stored(picture, place), left = Math.round(Math.min(Math.max(at.x - side / 2, 0), picture.width - side)), top = Math.round(Math.min(Math.max(at.y - side / 2, 0), picture.height - side));
  const spot = frame ? toDesign(frame, place) : null;
  const inRange = spot && Math.abs(spot.x) <= 5000 && Math.abs(spot.y) <= 5000;
  addObservation(stamp.id, { scan: picture.scan, region: [left, top, side, side], appearance: find("#look-appearance").value, seen: find("#look-seen").value,
    ...(inRange ? spot : {}), text: find("#look-text").value.trim() });
  find("#look-text").value = "";
  forms.get(stamp.id)?.();
  look.view.draw();
  tell([`Marked: ${describeSeen(draft.answers.at(-1).now)}`, listSeen()].filter(Boolean).join(". "));
}

// What fits what was seen, beside the picture: after each mark anew. Returns it in a few words.
function showFits() {
  const place = find("#look-fits"), shown = find("#look-think").getAttribute("aria-expanded") === "true" && Boolean(look.stamp);
  place.hidden = !shown;
  if (!shown) return "";
  const found = think(look.stamp);
  const [heading, first, ...others] = found.elements;
  place.replaceChildren(heading, first, ...smallMaps(look.stamp, found.weights), ...others);
  return found.words;
}

function thinkAlong(along) {
  find("#look-think").setAttribute("aria-expanded", String(along));
  return showFits();
}

// Two clicks: the top left corner of the design, then the bottom right one.
function setCorner(place) {
  if (!look.corner) {
    look.corner = place;
    tell("Now the bottom right corner of the design.");
    return;
  }
  const { corner, picture, stamp } = look;
  look.corner = null;
  if (place.x - corner.x < 4 || place.y - corner.y < 4) {
    tell("The second corner lies right of and below the first. Begin again.");
    return;
  }
  draft.frames[frameKey(picture, stamp)] = { x: corner.x, y: corner.y, w: place.x - corner.x, h: place.y - corner.y };
  keepDraft(false);
  tell("The frame of the design is set.");
  look.view.draw();
}

// Returns what fits it, in a few words.
function listSeen() {
  const { stamp } = look, list = find("#look-list");
  list.replaceChildren(...(stamp ? seenOn(stamp) : []).map((seen) => make("li", { textContent: `${describeSeen(seen)}${seen.by ? `, by ${labelOf(seen.by)}` : ", by you"}` })));
  find("#look-marking").hidden = !stamp || !forms.has(stamp.id);
  return showFits();
}

function showScan(scan, keep) {
  look.picture = pictureOf(scan);
  look.view.show([{ picture: look.picture }], keep);
  const canvas = look.view.canvas;
  canvas.setAttribute("aria-label", `${look.picture.image.alt}. Arrow keys move, plus and minus zoom, 0 shows all, 1 pixel for pixel, R turns, M mirrors, Enter marks the middle.`);
  listSeen();
}

function openLook(scan, stamp) {
  if (!scan) {
    tell("There is no picture of it here.");
    return;
  }
  const dialog = find("#look");
  if (!look) {
    look = { view: new View(find("#look-canvas")) };
    Object.assign(look.view, { over: paintSeen, moved: tellPlace, clicked: clickPlace });
    wireLook();
  }
  look.stamp = stamp ?? ofType("stamp").find((one) => one.fields.item === byId.get(scan).fields.item);
  const item = byId.get(scan).fields.item;
  const scans = ofType("scan").filter((one) => one.fields.item === item && pictureOf(one.id));
  const inOrder = scans.map((one) => pictureOf(one.id)).sort((a, b) => a.image.compareDocumentPosition(b.image) & Node.DOCUMENT_POSITION_PRECEDING ? 1 : -1);
  find("#look-scan").replaceChildren(...inOrder.map((one, i) => new Option(`${i + 1}: ${nameOfScan(byId.get(one.scan))}`, one.scan)));
  find("#look-scan").value = scan;
  find("#look-name").textContent = labelOf(look.stamp?.id ?? item) || labelOf(item);
  find("#look-mode").value = "look";
  dialog.showModal();
  look.view.reset();
  showLookControls();
  showScan(scan);
  look.view.canvas.focus();
}

function showLookControls() {
  find("#look-contrast").value = look.view.contrast;
  find("#look-channel").value = look.view.channel;
  find("#look-lens").checked = look.view.lens;
}

function wireLook() {
  const { view } = look, on = (id, event, act) => find(id).addEventListener(event, act);
  on("#look-in", "click", () => view.zoom(1.25));
  on("#look-out", "click", () => view.zoom(0.8));
  on("#look-fit", "click", () => view.fit());
  on("#look-pixel", "click", () => view.pixelForPixel());
  on("#look-left", "click", () => view.turnBy(-1));
  on("#look-right", "click", () => view.turnBy(1));
  on("#look-mirror", "click", () => { view.mirror = !view.mirror; view.draw(); });
  on("#look-lens", "change", (event) => { view.lens = event.target.checked; view.draw(); });
  on("#look-show", "change", () => view.draw());
  on("#look-contrast", "input", (event) => { view.contrast = Number(event.target.value); view.draw(); });
  on("#look-channel", "change", (event) => { view.channel = event.target.value; view.draw(); });
  on("#look-scan", "change", (event) => showScan(event.target.value));
  on("#look-mode", "change", (event) => {
    look.corner = null;
    if (event.target.value === "frame") tell("Choose the top left corner of the design.");
    if (event.target.value === "mark" && matchMedia("(min-width: 62rem)").matches) thinkAlong(true);
  });
  on("#look-think", "click", () => tell(thinkAlong(find("#look-think").getAttribute("aria-expanded") !== "true")));
  on("#look-close", "click", () => find("#look").close());
  find("#look-appearance").replaceChildren(...appearances.map((one) => new Option(inWords(one), one)));
}
