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

function think(stamp) {
  const p = given.ranking, things = thingsSeen(observationsOf(stamp), p.together), plates = rankedPlates(stamp);
  const elements = [make("h4", { textContent: "What fits what was seen" })];
  if (!things.length || !plates.length) {
    elements.push(make("p", { textContent: things.length ? "No plate of this design is known here." : "Nothing was marked on this stamp yet." }));
    return { elements, weights: null };
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
  if (next) elements.push(make("p", { className: "next" }, make("strong", { textContent: "Look next: " }), `${inWords(next.mark.appearance)}${next.mark.spot ? ` at ${Math.round(next.mark.spot.x)}, ${Math.round(next.mark.spot.y)} thousandths of the design` : ""}${next.mark.mark.record.fields.name ? ` (${next.mark.mark.record.fields.name})` : ""}. Going by the weights, it is there on about ${Math.round(next.chance * 100)} of 100 such stamps.`));
  const alike = ofType("stamp").filter((one) => one.id !== stamp.id && one.fields.design === stamp.fields.design)
    .map((one) => ({ one, ...alikeness(p, things, thingsSeen(observationsOf(one), p.together)) })).filter((found) => found.pairs > 0 && found.score > 0).sort((a, b) => b.score - a.score).slice(0, 5);
  if (alike.length) elements.push(make("p", { textContent: "Other stamps here that show the same:" }), make("ul", {}, ...alike.map(({ one, pairs }) => make("li", { textContent: `${one.label}: ${pairs} alike` }))));
  elements.push(make("p", { className: "hint", textContent: "This weighs what was marked against the marks that are known here. The weights add up to 1; they are no probabilities, and prove nothing." }));
  return { elements, weights };
}
