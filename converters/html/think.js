// What fits what was seen: places ranked as the library ranks them, look-alikes, and where to look next.
const spotIn = (fields) => fields.x !== undefined && fields.y !== undefined ? { x: fields.x, y: fields.y } : null;

function observationsOf(stamp) {
  return seenOn(stamp).filter((seen) => seen.appearance).map((seen, i) => ({ id: seen.own ? `~${i}` : `${i}`.padStart(6, "0"), by: seen.own ? draft.by || "you" : seen.by,
    appearance: seen.appearance, spot: spotIn(seen), seen: seen.seen ?? "present" }));
}

function rankedPlates(stamp) {
  const design = designOf(stamp)?.fields ?? {};
  return platesOf(stamp).map((record) => {
    const plan = planOfPlate(record), states = statesOf(record), order = (id, otherwise) => { const at = states.findIndex((one) => one.id === id); return at < 0 ? otherwise : at; };
    const pitch = (of, size) => of && size ? of / size * 1000 : 0;
    const marks = ofType("mark").filter((mark) => mark.fields.plate === record.id).map((mark) => {
      let set = null;
      try {
        set = mark.fields.positions ? readExpression(plan, mark.fields.positions).set : null;
      } catch {
        // one that is not understood takes no part
      }
      return { record: mark, set, first: order(mark.fields.first_state, 0), last: order(mark.fields.last_state, Infinity), appearance: mark.fields.appearance,
        reEntry: mark.fields.cause === "re_entry", spot: spotIn(mark.fields), spread: mark.fields.spread, visibility: mark.fields.visibility };
    });
    return { record, plan, names: states, states: Math.max(1, states.length), marks, pitchX: pitch(record.fields.pitch_x_um, design.width_um), pitchY: pitch(record.fields.pitch_y_um, design.height_um) };
  });
}

const placeInWords = (plates, place) => {
  const plate = plates[place.plate], at = planPlace(plate.plan, place.position);
  return `${plates.length > 1 ? `plate ${plate.record.label}, ` : ""}${planNumber(plate.plan, place.position)} (row ${at.row}, stamp ${at.column})${plate.names.length ? `, ${plate.names[place.state].label}` : ""}`;
};

// The known marks that what was seen may be, nearest first.
function marksLike(p, things, plates) {
  const found = things.filter((thing) => thing.seen === "present").flatMap((thing) => plates.flatMap((plate) => plate.marks.filter((mark) => mark.spot && thing.spot && reaches(p, thing, mark))
    .map((mark) => ({ thing, mark, plate, distance: distanceOf(thing.spot, mark.spot) }))));
  return found.sort((a, b) => a.distance - b.distance).slice(0, 8);
}

const markInWords = ({ record, spot }) => [inWords(record.fields.appearance), ...(spot ? [`at ${Math.round(spot.x)}, ${Math.round(spot.y)}`] : []),
  ...(record.fields.name ? [`(${record.fields.name})`] : [])].join(" ");

// Plates drawn small, with the positions that do not fit dimmed.
function smallMaps(stamp, weights) {
  return platesOf(stamp).map((record) => {
    const plan = planOfPlate(record), columns = plan.columns * plan.across, all = weights?.get(record.id);
    const cell = (row, column) => {
      const index = planFromSheet(plan, row, column), weight = all?.[index];
      return make("span", { className: weight === undefined ? "" : weight < 0.001 ? "dim" : weight >= 0.05 ? "likely" : "", textContent: columns <= 12 ? planNumber(plan, index) : "" });
    };
    const fitting = all ? positionsOf(all.map((weight) => weight >= 0.001 ? 1 : 0)).length : plan.count;
    const map = make("div", { className: "small-map", role: "img", "aria-label": `Plate ${record.label}: ${fitting} of ${plan.count} positions fit` },
      ...Array.from({ length: plan.count }, (_, i) => cell(Math.floor(i / columns) + 1, i % columns + 1)));
    map.style.setProperty("--columns", columns);
    return map;
  });
}

function think(stamp) {
  const p = given.ranking, things = thingsSeen(observationsOf(stamp), p.together), plates = rankedPlates(stamp);
  const elements = [make("h4", { textContent: "What fits what was seen" })];
  if (!things.length || !plates.length) {
    const words = things.length ? "No plate of this design is known here." : "Nothing was marked on this stamp yet.";
    elements.push(make("p", { textContent: words }));
    return { elements, weights: null, words };
  }
  const places = rankPlaces(p, plates, things);
  const weights = new Map(plates.map((plate, i) => {
    const sums = new Float64Array(plate.plan.count);
    for (const place of places) if (place.plate === i) sums[place.position] += place.weight;
    return [plate.record.id, sums];
  }));
  elements.push(make("p", { textContent: "On the plate, positions that do not fit are dim. What fits best:" }),
    make("ol", {}, ...places.slice(0, 5).filter((place) => place.weight >= 0.001).map((place) => make("li", { textContent: `${placeInWords(plates, place)}: weight ${place.weight.toFixed(3)}` }))));
  const next = lookNext(p, plates, things, places);
  if (next) elements.push(make("p", { className: "next" }, make("strong", { textContent: "Look next: " }), `${markInWords({ record: next.mark.mark.record, spot: next.mark.spot })} (thousandths of the design). Places that show it weigh ${next.weight.toFixed(2)}.`));
  const marks = marksLike(p, things, plates);
  if (marks.length) elements.push(make("p", { textContent: "Known marks that it looks like:" }), make("ul", {}, ...marks.map(({ mark, plate, distance }) =>
    make("li", { textContent: `${markInWords(mark)}${plates.length > 1 ? `, plate ${plate.record.label}` : ""}, of ${mark.record.fields.positions ?? "unknown positions"}: ${Math.round(distance)} off` }))));
  const alike = ofType("stamp").filter((one) => one.id !== stamp.id && one.fields.design === stamp.fields.design)
    .map((one) => ({ one, ...alikeness(p, things, thingsSeen(observationsOf(one), p.together)) })).filter((found) => found.pairs > 0 && found.score > 0).sort((a, b) => b.score - a.score).slice(0, 5);
  if (alike.length) elements.push(make("p", { textContent: "Other stamps here that show the same:" }), make("ul", {}, ...alike.map(({ one, pairs }) => make("li", { textContent: `${one.label}: ${pairs} alike` }))));
  elements.push(make("p", { className: "hint", textContent: "This weighs what was marked against the marks that are known here. The weights add up to 1; they are no probabilities, and prove nothing." }));
  const best = places[0];
  return { elements, weights, words: best ? `Fits best: ${placeInWords(plates, best)}, weight ${best.weight.toFixed(3)}` : "" };
}
