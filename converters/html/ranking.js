// Ranking places by marks (spec/ranking.md): the same model and parameters as the library's, and the same vectors.
const distanceOf = (a, b) => Math.hypot(a.x - b.x, a.y - b.y);
const marginsOf = (spot) => spot ? (spot.x < 0 ? 1 : 0) | (spot.x > 1000 ? 2 : 0) | (spot.y < 0 ? 4 : 0) | (spot.y > 1000 ? 8 : 0) : 0;
const leavesTraces = (appearance) => appearance === "doubling" || appearance === "remains";
const compareText = (a, b) => a < b ? -1 : a > b ? 1 : 0;

// Observations { id, by, appearance, spot, seen } brought together into things.
function thingsSeen(observations, together) {
  const all = [...observations].sort((a, b) => compareText(a.id, b.id));
  const near = (a, b) => {
    if (Boolean(a.spot) !== Boolean(b.spot)) return Infinity;
    const distance = a.spot ? distanceOf(a.spot, b.spot) : 0;
    return distance <= together ? distance : Infinity;
  };
  const pairs = [];
  for (let a = 0; a < all.length; a++) {
    for (let b = a + 1; b < all.length; b++) {
      const distance = all[a].appearance === all[b].appearance && all[a].by !== all[b].by ? near(all[a], all[b]) : Infinity;
      if (distance !== Infinity) pairs.push({ distance, a, b });
    }
  }
  pairs.sort((p, q) => p.distance - q.distance || p.a - q.a || p.b - q.b);
  const group = all.map((_, i) => i);
  const members = (first) => all.filter((_, i) => group[i] === first);
  for (const { a, b } of pairs) {
    const one = group[a], other = group[b];
    if (one === other) continue;
    const fits = members(one).every((x) => members(other).every((y) => x.by !== y.by && near(x, y) !== Infinity));
    if (!fits) continue;
    const keep = Math.min(one, other);
    group.forEach((of, i) => { if (of === one || of === other) group[i] = keep; });
  }
  const firsts = all.map((_, i) => i).filter((i) => group[i] === i);
  return firsts.map((first) => thingOf(members(first)));
}

function thingOf(members) {
  const present = members.some((one) => one.seen === "present"), absent = members.some((one) => one.seen === "absent");
  const spot = members[0].spot ? { x: 0, y: 0 } : null;
  for (const one of spot ? members : []) {
    spot.x += one.spot.x;
    spot.y += one.spot.y;
  }
  if (spot) {
    spot.x /= members.length;
    spot.y /= members.length;
  }
  return { appearance: members[0].appearance, spot, seen: present === absent ? "unclear" : present ? "present" : "absent", members };
}

// Rows to columns, each at most once, so that the sum of gains is greatest; -1: left out. The Hungarian method with one
// stand-in a row.
function assign(gain, rows, columns) {
  const match = new Array(rows).fill(-1);
  if (!rows || !columns) return match;
  const total = columns + rows;
  const u = new Array(rows + 1).fill(0), v = new Array(total + 1).fill(0), taken = new Array(total + 1).fill(0), previous = new Array(total + 1).fill(0);
  for (let row = 1; row <= rows; row++) {
    taken[0] = row;
    let at = 0;
    const slack = new Array(total + 1).fill(Infinity), inTree = new Array(total + 1).fill(false);
    do {
      inTree[at] = true;
      let next = 0, least = Infinity;
      for (let j = 1; j <= total; j++) {
        if (inTree[j]) continue;
        const cost = j > columns ? 0 : -gain[taken[at] - 1][j - 1];
        const reduced = cost - u[taken[at]] - v[j];
        if (reduced < slack[j]) {
          slack[j] = reduced;
          previous[j] = at;
        }
        if (slack[j] < least) {
          least = slack[j];
          next = j;
        }
      }
      for (let j = 0; j <= total; j++) {
        if (inTree[j]) {
          u[taken[j]] += least;
          v[j] -= least;
        } else {
          slack[j] -= least;
        }
      }
      at = next;
    } while (taken[at] !== 0);
    for (; at !== 0; at = previous[at]) taken[at] = taken[previous[at]];
  }
  for (let j = 1; j <= columns; j++) if (taken[j]) match[taken[j] - 1] = j - 1;
  return match;
}

const sigmaOf = (p, mark) => Math.max(mark.spread ?? -1, p.spread_least);
const visibilityOf = (p, mark) => Math.min(Math.max(mark.visibility === undefined ? p.visibility : mark.visibility / 100, p.visibility_least), p.visibility_most);

function logFit(p, thing, mark) {
  const kind = thing.appearance === mark.appearance ? 0 : Math.log(p.other_appearance);
  if (!thing.spot || !mark.spot) return kind + Math.log(p.no_place);
  const sigma = sigmaOf(p, mark), distance = distanceOf(thing.spot, mark.spot);
  return kind + 2 * Math.log(p.spread_least / sigma) - distance * distance / (2 * sigma * sigma);
}

function reaches(p, thing, mark) {
  if (thing.appearance !== mark.appearance) return false;
  if (!thing.spot) return true;
  return Boolean(mark.spot) && distanceOf(thing.spot, mark.spot) <= p.reach * sigmaOf(p, mark);
}

// The greatest product by which `marks` explain the things; `stray`: factor of one that no mark explains.
function explain(p, things, marks, stray) {
  const margins = things.reduce((sides, thing) => sides | marginsOf(thing.spot), 0);
  const present = things.filter((thing) => thing.seen === "present");
  const said = (mark, what) => things.some((thing) => thing.seen === what && reaches(p, thing, mark));
  const left = marks.map((mark) => {
    if (said(mark, "absent")) return "denied";
    const sides = marginsOf(mark.spot);
    return said(mark, "unclear") || (sides && !(sides & margins)) ? "unclear" : "silent";
  });
  const pair = present.map((thing) => marks.map((mark) => Math.max(-1000, Math.log(visibilityOf(p, mark)) + logFit(p, thing, mark))));
  let best = { log: -Infinity };
  for (const hasty of [false, true]) {
    const leftOut = marks.map((mark, j) => left[j] === "denied" ? Math.log(1 - visibilityOf(p, mark))
      : left[j] === "silent" && !hasty ? Math.log(1 - visibilityOf(p, mark) * p.silent) : 0);
    const re = present.some((thing) => leavesTraces(thing.appearance)) ? marks.map((mark, j) => mark.reEntry ? j : -1).filter((j) => j >= 0) : [];
    for (const forced of [-1, ...re]) {
      const strayOf = (thing) => Math.log(forced >= 0 && leavesTraces(thing.appearance) ? p.trace : stray);
      const gain = present.map((thing, i) => marks.map((_, j) => pair[i][j] - strayOf(thing) - leftOut[j]));
      if (forced >= 0) {
        const greatest = Math.max(0, ...gain.flat().map(Math.abs)), lift = 2 * (greatest + 1) * (present.length + 1);
        for (const row of gain) row[forced] += lift;
      }
      const match = assign(gain, present.length, marks.length), met = new Set(match);
      let log = hasty ? Math.log(p.hasty) * Math.max(1, present.length) : 0;
      present.forEach((thing, i) => { log += match[i] < 0 ? strayOf(thing) : pair[i][match[i]]; });
      marks.forEach((_, j) => { if (!met.has(j)) log += leftOut[j]; });
      if (log > best.log) best = { log, hasty, present, match, left: left.map((verdict, j) => met.has(j) ? "met" : verdict) };
    }
  }
  return best;
}

// Does a stamp show this place of its margin? Pitches in thousandths of the design, 0: unsaid.
const showsBetween = (spot, plate) => plate.pitchX > 1000 && plate.pitchY > 1000 && marginsOf(spot) !== 0 &&
  spot.x >= 1000 - plate.pitchX && spot.x <= plate.pitchX && spot.y >= 1000 - plate.pitchY && spot.y <= plate.pitchY;

// Marks { set, first, last, appearance, reEntry, spot, spread, visibility } that a stamp from the place would show.
function marksShown(plate, position, state) {
  const shown = [];
  for (const mark of plate.marks) {
    if (!mark.set || state < mark.first || state > mark.last) continue;
    if (mark.set[position]) shown.push({ ...mark, mark });
    if (!marginsOf(mark.spot)) continue;
    for (let down = -1; down <= 1; down++) {
      for (let across = -1; across <= 1; across++) {
        const spot = { x: mark.spot.x + across * plate.pitchX, y: mark.spot.y + down * plate.pitchY };
        if ((!down && !across) || !showsBetween(spot, plate)) continue;
        const neighbour = planStep(plate.plan, position, down, across);
        if (neighbour >= 0 && mark.set[neighbour]) shown.push({ ...mark, mark, spot, reEntry: false, down, across });
      }
    }
  }
  return shown;
}

// Plates { plan, states, out: Set of states that are out, within: set or null, pitchX, pitchY, marks }.
function rankPlaces(p, plates, things) {
  const left = plates.map((plate) => Array.from({ length: plate.states }, (_, s) => s).filter((s) => !plate.out?.has(s)));
  const asked = plates.map((plate) => plate.within ? positionsOf(plate.within) : Array.from({ length: plate.plan.count }, (_, i) => i));
  const all = plates.reduce((sum, plate, i) => sum + (left[i].length ? plate.plan.count : 0), 0);
  const pairs = plates.reduce((sum, _, i) => sum + (left[i].length ? asked[i].length : 0), 0);
  const stray = Math.min(p.stray, Math.max(p.stray_shared / all, p.stray_least));
  const places = [];
  plates.forEach((plate, number) => {
    for (const position of asked[number]) {
      for (const state of left[number]) {
        const why = explain(p, things, marksShown(plate, position, state), stray);
        places.push({ plate: number, position, state, why, log: why.log - Math.log(pairs) - Math.log(left[number].length) });
      }
    }
  });
  const rank = (place) => Math.round(place.log * 1e9);
  places.sort((a, b) => rank(b) - rank(a) || a.plate - b.plate || a.position - b.position || a.state - b.state);
  const greatest = places.length ? places[0].log : 0;
  const sum = places.reduceRight((total, place) => total + (place.weight = Math.exp(place.log - greatest)), 0);
  for (const place of places) place.weight /= sum;
  return places;
}

const uncertaintyOf = (share) => share <= 0 || share >= 1 ? 0 : -share * Math.log2(share) - (1 - share) * Math.log2(1 - share);

// The look that is expected to tell most: { mark, bits, weight }, or null; its weight is that of the places, as far as they would show the mark.
function lookNext(p, plates, things, places) {
  const likely = places.filter((place) => place.weight >= 1e-7);
  const shown = likely.map((place) => marksShown(plates[place.plate], place.position, place.state));
  let best = null;
  for (const list of shown.slice(0, 64)) {
    for (const mark of list) {
      if (things.some((thing) => reaches(p, thing, mark))) continue;
      let yes = 0, rest = 0;
      likely.forEach((place, i) => {
        let shows = p.stray;
        for (const one of shown[i]) if (Boolean(mark.spot) === Boolean(one.spot) && reaches(p, mark, one)) shows = Math.max(shows, visibilityOf(p, one));
        yes += place.weight * shows;
        rest += place.weight * uncertaintyOf(shows);
      });
      const bits = uncertaintyOf(yes) - rest;
      if (bits > (best?.bits ?? 0) + 1e-9) best = { mark, bits, weight: yes };
    }
  }
  return best;
}

// How much better two stamps' things explain each other than chance does: { score, pairs }.
function alikeness(p, one, other) {
  const asMarks = (things) => things.filter((thing) => thing.seen === "present");
  const side = (things, marks) => {
    const why = explain(p, things, marks, p.stray);
    return { why, score: why.log - asMarks(things).length * Math.log(p.stray) };
  };
  const there = side(one, asMarks(other)), back = side(other, asMarks(one));
  return { score: (there.score + back.score) / 2, pairs: there.why.match.filter((j) => j >= 0).length };
}
