// A talk: its title, then one item a screen, then close-ups of what was seen on it; at the end what is to be known of it all.
function slidesOf(section) {
  const closeUps = stampsOn(section.dataset.item).flatMap((stamp) => seenOn(stamp).map((seen) => {
    const scan = (seen.scan && pictureOf(seen.scan)) ? seen.scan : firstScanOf(stamp), picture = scan && pictureOf(scan), place = picture && placeSeen(picture, stamp, seen);
    const inside = place && place.x >= 0 && place.y >= 0 && place.x <= picture.wide && place.y <= picture.high;
    return inside ? { section, stamp, seen, picture, place } : null;
  }).filter(Boolean));
  return [{ section }, ...closeUps];
}

// A ring about the middle, wide enough to leave what it is about alone.
function paintRing(context, view) {
  const middle = { x: view.canvas.width / 2, y: view.canvas.height / 2 };
  for (const [colour, wide] of [["#000", 6], ["#fff", 3]]) view.paintRing(context, middle, view.canvas.height / 5 / view.ratio, wide, colour);
}

function startTalk() {
  const slides = [{ title: true }, ...findAll("section.item").flatMap(slidesOf), {}];
  const stage = find("#stage"), canvas = find("#stage-canvas"), view = new View(canvas);
  view.over = (context) => paintRing(context, view);
  find("main").append(stage);
  let at = 0;
  const show = (number) => {
    at = Math.min(slides.length - 1, Math.max(0, number));
    const { title, section, seen, picture, place } = slides[at];
    findAll("section.item").forEach((one) => { one.hidden = one !== section || Boolean(seen); });
    find("footer").hidden = title || Boolean(section);
    find("header.front").hidden = Boolean(section);
    stage.hidden = !seen;
    if (seen) {
      find("#stage-name").textContent = labelOf(section.dataset.item);
      find("#stage-text").textContent = describeSeen(seen);
      view.show([{ picture }]);
      view.center = place;
      view.scale = Math.max(view.scale * 3, 0.5);
      view.draw();
    }
    find("#step-place").textContent = `${at + 1} of ${slides.length}`;
    scrollTo(0, 0);
  };
  const keys = { ArrowRight: 1, PageDown: 1, " ": 1, ArrowLeft: -1, PageUp: -1 };
  document.addEventListener("keydown", (event) => {
    if (event.target.closest("button, a, summary, canvas") && event.key === " ") return;
    if (event.key === "Home" || event.key === "End") show(event.key === "Home" ? 0 : slides.length - 1);
    else if (keys[event.key]) show(at + keys[event.key]);
    else return;
    event.preventDefault();
  });
  find("#step-back").addEventListener("click", () => show(at - 1));
  find("#step-on").addEventListener("click", () => show(at + 1));
  find("#steps").hidden = false;
  show(0);
}
