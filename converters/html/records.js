// The bundle's records, as the page was given them.
const given = JSON.parse(find("#records").textContent);
const byId = new Map(given.records.map((record) => [record.id, record]));
const typeOf = (id) => id.slice(0, id.indexOf("/"));
const ofType = (type) => given.records.filter((record) => typeOf(record.id) === type);
const labelOf = (id) => byId.get(id)?.label ?? "";

const plansOf = new Map();
function planOfPlate(plate) {
  if (!plansOf.has(plate.id)) plansOf.set(plate.id, planOf(plate.fields));
  return plansOf.get(plate.id);
}

// The plates a stamp may come from: those of its design, with a layout that is settled.
const platesOf = (stamp) => ofType("plate").filter((plate) => plate.fields.design === stamp.fields.design && planOfPlate(plate));
const statesOf = (plate) => ofType("plate_state").filter((state) => state.fields.plate === plate.id).sort((a, b) => a.fields.order - b.fields.order);
const designOf = (stamp) => byId.get(stamp.fields.design);
const stampsOn = (item) => ofType("stamp").filter((stamp) => stamp.fields.item === item);

const appearances = ["dot", "guide_line", "doubling", "remains", "flaw", "scratch", "crack", "recut", "retouch", "burr", "wear", "imprint", "plate_number", "other"];
const inWords = (name) => name.replaceAll("_", " ");

const figures = new Map(findAll("figure.scan").map((figure) => [figure.dataset.scan, figure]));

// A scan's picture in the page, and how its pixels lie: `turn` is EXIF's number, width and height are those of the file.
function pictureOf(scan) {
  const figure = figures.get(scan);
  const image = figure && find("img", figure);
  if (!image) return null;
  const width = Number(image.dataset.width), height = Number(image.dataset.height), turn = Number(image.dataset.turn);
  const across = turn >= 5 ? image.dataset.dpiY : image.dataset.dpiX, down = turn >= 5 ? image.dataset.dpiX : image.dataset.dpiY;
  return { scan, image, width, height, turn, wide: turn >= 5 ? height : width, high: turn >= 5 ? width : height,
    perMm: [Number(across) / 2540, Number(down) / 2540] };
}

// From stored pixels to the picture as it is looked at, and back (EXIF 2.32, table 6: orientation).
function upright(picture, { x, y }) {
  const w = picture.width, h = picture.height;
  return [null, { x, y }, { x: w - x, y }, { x: w - x, y: h - y }, { x, y: h - y }, { x: y, y: x }, { x: h - y, y: x }, { x: h - y, y: w - x }, { x: y, y: w - x }][picture.turn] ?? { x, y };
}
function stored(picture, { x, y }) {
  const w = picture.width, h = picture.height;
  return [null, { x, y }, { x: w - x, y }, { x: w - x, y: h - y }, { x, y: h - y }, { x: y, y: x }, { x: y, y: h - x }, { x: w - y, y: h - x }, { x: w - y, y: x }][picture.turn] ?? { x, y };
}
