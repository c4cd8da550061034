// The form below each question.
const opinions = { cannot_tell: "Cannot tell", not_genuine: "Not genuine", another_plate: "Another plate" };
const forms = new Map(); // stamp -> function that shows what the draft says

function labelled(text, control) {
  return make("label", { className: "field" }, make("span", { textContent: text }), control);
}

function choice(name, value, text, checked, onchange) {
  return make("label", { className: "choice" }, make("input", { type: "radio", name, value, checked, onchange }), ` ${text}`);
}

function answerForm(stamp, number, place) {
  const plates = platesOf(stamp), name = `answer-${number}`;
  const claim = () => answersOn(stamp.id, "claim").find(standing), opinion = () => answersOn(stamp.id, "opinion").find(standing);
  const kindNow = () => opinion() ? Object.keys(opinions).find((key) => inWords(key) === opinion().now.about) ?? "cannot_tell" : claim() && plates.length ? "positions" : "";
  let plate = plates[0], set = null, map = null, weights = null;

  const kinds = make("fieldset", { className: "kinds" }, make("legend", { textContent: `Your answer to question ${number}` }));
  const kindOf = { "": "No answer yet", ...(plates.length ? { positions: "Positions" } : {}), ...opinions };
  for (const [value, text] of Object.entries(kindOf)) kinds.append(choice(`${name}-kind`, value, text, false, () => changeKind(value)));

  const echo = make("p", { className: "echo", id: `${name}-echo` });
  const expression = make("input", { type: "text", id: `${name}-positions`, autocomplete: "off", spellcheck: false, oninput: () => typed(), "aria-describedby": echo.id });
  const which = make("select", { id: `${name}-plate`, onchange: () => { plate = byId.get(which.value); buildMap(); typed(); } }, ...plates.map((one) => new Option(`Plate ${one.label}`, one.id)));
  const state = make("select", { id: `${name}-state`, onchange: () => keepClaim() });
  const confidence = make("select", { id: `${name}-confidence`, onchange: () => keepClaim() }, ...["certain", "probable", "possible"].map((one) => new Option(one, one)));
  const mapPlace = make("div", { className: "map-place" });
  const mapBox = make("details", { className: "map" }, make("summary", { textContent: "Choose on the plate" }), mapPlace);
  const positions = make("div", { className: "positions" }, labelled("Positions, as 64, 41-50, R6/3, or column 4 but not row 2", expression), echo,
    make("div", { className: "beside" }, ...(plates.length > 1 ? [labelled("Plate", which)] : []), labelled("State", state), labelled("How sure you are", confidence)), mapBox);
  const remark = make("textarea", { id: `${name}-remark`, rows: 2, oninput: () => keepRemark() });
  const remarkField = labelled("Remark", remark);
  const seen = make("ul", { className: "seen", "aria-label": "What you marked" });
  const tools = make("p", { className: "tools" },
    make("button", { type: "button", textContent: "Look closely, mark what you see", onclick: () => openLook(firstScanOf(stamp), stamp) }),
    make("button", { type: "button", textContent: "What fits what was seen?", onclick: showThinking }));
  const thinking = make("div", { className: "thinking", hidden: true, tabIndex: -1 });

  function buildMap() {
    const plan = planOfPlate(plate);
    set = new Uint8Array(plan.count);
    state.replaceChildren(new Option("not said", ""), ...statesOf(plate).map((one) => new Option(one.label, one.id)));
    mapPlace.replaceChildren();
    map = null;
    if (mapBox.open) showMap();
  }
  function showMap() {
    if (map) return;
    map = plateMap(planOfPlate(plate), { label: `Plate ${plate.label}`, pressed: set, weights: weights?.get(plate.id), changed: (now) => {
      expression.value = positionsOf(now).length ? writeExpression(planOfPlate(plate), now) : "";
      typed(true);
    } });
    mapPlace.replaceChildren(make("p", { textContent: "As the sheet is looked at. Arrow keys move, Enter chooses." }), map.element);
  }
  mapBox.addEventListener("toggle", () => mapBox.open && showMap());

  // What is typed, as positions and in words; says whether it is understood.
  function understand() {
    const text = expression.value;
    expression.setAttribute("aria-invalid", "false");
    if (text.trim() === "") {
      echo.textContent = "";
      set.fill(0);
      return true;
    }
    try {
      const read = readExpression(planOfPlate(plate), text);
      set.set(read.set);
      echo.textContent = echoPositions(planOfPlate(plate), set);
      const initial = statesOf(plate).filter((one) => read.state && foldAscii(one.label).startsWith(foldAscii(read.state)));
      if (initial.length === 1) state.value = initial[0].id;
      return true;
    } catch (fault) {
      if (!(fault instanceof ExpressionFault)) throw fault;
      expression.setAttribute("aria-invalid", "true");
      echo.textContent = `${fault.message}, at character ${fault.character} (${fault.rule})`;
      return false;
    }
  }
  // Checked as it is typed; only what is understood is kept.
  function typed(fromMap = false) {
    if (!understand()) return;
    if (!fromMap) map?.update(set);
    keepClaim();
  }
  function keepClaim() {
    if (expression.getAttribute("aria-invalid") === "true") return;
    if (expression.value.trim() === "") {
      const before = answersOn(stamp.id, "claim").find(standing);
      if (before) takeBack(before);
      return;
    }
    setAnswer(stamp.id, "claim", { plates: [plate.id], positions: expression.value.trim(), state: state.value, confidence: confidence.value, remark: remark.value.trim(), blind: given.blind || undefined });
  }
  function keepRemark() {
    const kind = find("input:checked", kinds)?.value;
    if (kind === "positions") keepClaim();
    else if (kind) keepOpinion(kind);
  }
  function keepOpinion(kind) {
    setAnswer(stamp.id, "opinion", { about: inWords(kind), text: remark.value.trim() || opinions[kind] });
  }
  function changeKind(kind) {
    for (const record of kind === "positions" ? ["opinion"] : kind === "" ? ["claim", "opinion"] : ["claim"])
      for (const one of answersOn(stamp.id, record)) if (standing(one)) takeBack(one);
    if (kind === "positions") keepClaim();
    else if (kind) keepOpinion(kind);
    showKind(kind);
  }
  function showKind(kind) {
    positions.hidden = kind !== "positions";
    remarkField.hidden = kind === "";
  }
  function showSeen() {
    seen.replaceChildren(...answersOn(stamp.id, "observation").filter(standing).map((answer) => make("li", {}, describeSeen(answer.now), " ",
      make("button", { type: "button", textContent: "Take back", "aria-label": `Take back: ${describeSeen(answer.now)}`, onclick: () => { takeBack(answer); showSeen(); } }))));
    if (!thinking.hidden) thinkAgain();
  }
  function thinkAgain() {
    const found = think(stamp);
    thinking.replaceChildren(...found.elements);
    weights = found.weights;
    map?.update(set, plate && weights?.get(plate.id));
  }
  function showThinking() {
    thinkAgain();
    thinking.hidden = false;
    if (plates.length) mapBox.open = true;
    thinking.focus();
  }
  function show() {
    const kind = kindNow(), said = claim()?.now;
    find(`input[value="${kind}"]`, kinds).checked = true;
    showKind(kind);
    if (plates.length) {
      plate = plates.find((one) => one.id === said?.plates?.[0]) ?? plates[0];
      which.value = plate.id;
      buildMap();
      expression.value = said?.positions ?? "";
      confidence.value = said?.confidence ?? "probable";
      understand();
      state.value = said?.state ?? "";
      map?.update(set);
    }
    const text = opinion()?.now.text;
    remark.value = said?.remark ?? (text && !Object.values(opinions).includes(text) ? text : "");
    showSeen();
  }
  place.replaceChildren(kinds, positions, remarkField, tools, seen, thinking);
  forms.set(stamp.id, show);
  show();
}

function describeSeen(now) {
  const where = now.x === undefined ? "" : ` at ${now.x}, ${now.y} thousandths`;
  return `${inWords(now.appearance)}${where}${now.seen && now.seen !== "present" ? ` (${now.seen})` : ""}${now.text ? `: ${now.text}` : ""}`;
}

// The scan to look at a stamp on: one of the stamp alone; else one that the design fills; else the first of the item's.
function firstScanOf(stamp) {
  const scans = [...figures.keys()].map((id) => byId.get(id)).filter((scan) => scan && pictureOf(scan.id) && (scan.fields.stamp ?? stamp.id) === stamp.id && scan.fields.item === stamp.fields.item);
  const fills = (scan) => showsFace(pictureOf(scan.id)) && assumedFrame(pictureOf(scan.id), stamp);
  return (scans.find((scan) => scan.fields.stamp) ?? scans.find(fills) ?? scans[0])?.id;
}

function showAnswers() {
  for (const show of forms.values()) show();
  showCount();
}

function showCount() {
  const answered = given.questions.filter((stamp) => answersOn(stamp).some(standing)).length;
  const place = find("#answered");
  if (place) place.textContent = `${answered} of ${given.questions.length} answered${draft.unsaved ? ", not yet saved" : ""}`;
}
