// Begins everything, once the page is there.
function wireScans() {
  for (const figure of findAll("figure.scan")) {
    const image = find("img", figure);
    if (!image) continue;
    const button = make("button", { type: "button", className: "open-scan", "aria-label": `Look closely at ${image.alt}`, onclick: () => openLook(figure.dataset.scan) });
    image.before(button);
    button.append(image);
  }
}

function wireAnswers() {
  loadDraft();
  const bar = find("#bar"), who = find("#who");
  bar.hidden = false;
  find("header.front").after(bar);
  who.append(new Option("choose", ""), ...ofType("contributor").map((one) => new Option(one.label, one.id)));
  who.value = draft.by;
  who.addEventListener("change", () => { draft.by = who.value; keepDraft(); });
  find("#save").addEventListener("click", saveSheet);
  find("#continue").addEventListener("change", (event) => {
    const [file] = event.target.files;
    if (file) continueSheet(file).then(() => { who.value = draft.by; event.target.value = ""; });
  });
  find("#open-compare").addEventListener("click", openCompare);
  for (const section of findAll("section.stamp")) {
    const stamp = byId.get(section.dataset.stamp);
    if (stamp) answerForm(stamp, Number(section.dataset.number), find(".answer", section));
  }
  keepListeners.push(showCount);
  showCount();
}

// Paper shows what is folded away.
addEventListener("beforeprint", () => findAll("details.said:not([open])").forEach((one) => { one.dataset.folded = ""; one.open = true; }));
addEventListener("afterprint", () => findAll("details.said[data-folded]").forEach((one) => { delete one.dataset.folded; one.open = false; }));

document.body.classList.add("works");
if (document.body.dataset.face === "talk") {
  startTalk();
} else {
  wireScans();
  wireAnswers();
}
