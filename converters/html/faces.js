// A talk: one item a screen, then close-ups of what was seen on it.
function startTalk() {
  const slides = findAll("section.item").flatMap((section) => {
    const stamps = stampsOn(section.dataset.item);
    const closeUps = stamps.flatMap((stamp) => seenOn(stamp).map((seen) => {
      const scan = (seen.scan && pictureOf(seen.scan)) ? seen.scan : firstScanOf(stamp), picture = scan && pictureOf(scan), place = picture && placeSeen(picture, stamp, seen);
      return place ? { section, stamp, seen, picture, place } : null;
    }).filter(Boolean));
    return [{ section }, ...closeUps];
  });
  if (!slides.length) return;
  const stage = find("#stage"), canvas = find("#stage-canvas"), view = new View(canvas);
  let at = 0;
  const show = (number) => {
    at = Math.min(slides.length - 1, Math.max(0, number));
    const { section, seen, picture, place } = slides[at];
    findAll("section.item").forEach((one) => { one.hidden = one !== section; });
    stage.hidden = !seen;
    section.classList.toggle("with-close-up", Boolean(seen));
    find("#stage-text").textContent = seen ? describeSeen(seen) : "";
    if (seen) {
      view.show([{ picture }]);
      view.center = place;
      view.scale = Math.max(view.scale * 4, 1);
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
