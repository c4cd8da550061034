// Reply sheets (spec/reply-sheet.md): what the page saves, and takes in again to be continued.
const sheetFormat = "glassine reply sheet 1.0";
const nowText = () => `${new Date().toISOString().slice(0, 19)}Z`;
const contentOf = (version) => JSON.stringify(Object.entries(version).filter(([name, value]) => name !== "at" && value !== "" && value !== undefined).sort());

// What changed since the last save becomes a version of its own.
function closeVersions() {
  const last = draft.answers.flatMap((answer) => answer.versions.map((version) => version.at)).sort().at(-1) ?? "";
  let at = nowText();
  if (at < last) at = last; // a clock that was set back
  for (const answer of draft.answers) {
    if (!answer.now) continue;
    const before = answer.versions.at(-1), { at: _, ...content } = answer.now;
    if (before && contentOf(before) === contentOf(content)) continue;
    answer.versions.push({ at, ...Object.fromEntries(Object.entries(content).filter(([, value]) => value !== "" && value !== undefined)) });
  }
  draft.made ||= at;
}

function sheetOf() {
  return {
    format: sheetFormat, sheet: draft.sheet, bundle: given.bundle, ...(given.event ? { answers: given.event } : {}),
    by: draft.by, via: given.keeper, made: draft.made,
    given: draft.answers.filter((answer) => answer.versions.length).map(({ number, record, stamp, versions }) => ({ number, record, stamp, versions })),
  };
}

const sheetName = () => `reply-${(given.title || "bundle").normalize("NFKD").toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40) || "bundle"}-${draft.sheet.slice(0, 8)}.json`;

function saveSheet() {
  if (!draft.by) {
    tell("Say first who answers.");
    find("#who").focus();
    return;
  }
  const wrong = findAll(".answer [aria-invalid=true]")[0];
  if (wrong) {
    tell("One of the answers is not understood. It is marked.");
    wrong.focus();
    return;
  }
  closeVersions();
  if (!draft.answers.some((answer) => answer.versions.length)) {
    tell("There is no answer yet to save.");
    return;
  }
  const url = URL.createObjectURL(new Blob([`${JSON.stringify(sheetOf(), null, 1)}\n`], { type: "application/json" }));
  const link = make("a", { href: url, download: sheetName() });
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
  draft.unsaved = false;
  keepDraft(false);
  tell(`Saved as ${sheetName()}. Send that file back by e-mail.`);
}

// Texts, numbers and lists of them; what they mean is looked at where it is shown, and by whoever takes the sheet in.
const isPlain = (value) => ["string", "number", "boolean"].includes(typeof value);
const isSoundVersion = (version, record) => version && typeof version.at === "string" &&
  Object.entries(version).every(([name, value]) => ["plates", "region"].includes(name) ? Array.isArray(value) && value.every(isPlain) : isPlain(value)) &&
  ["positions", "remark", "text", "about", "appearance"].every((name) => ["string", "undefined"].includes(typeof version[name])) &&
  (record !== "observation" || version.withdrawn || version.appearance);

// What is wrong with a sheet that is to be continued here; "" for nothing.
function sheetFault(sheet) {
  if (sheet?.format !== sheetFormat || !Array.isArray(sheet.given)) return "This is no reply sheet of this version.";
  if (sheet.bundle !== given.bundle && sheet.answers !== given.event) return "This reply sheet answers another dispatch.";
  const sound = [sheet.sheet, sheet.made, sheet.by].every((one) => typeof one === "string") && new Set(sheet.given.map((one) => one?.number)).size === sheet.given.length &&
    sheet.given.every((one) => Number.isInteger(one?.number) && ["claim", "opinion", "observation"].includes(one.record) &&
      byId.has(one.stamp) && Array.isArray(one.versions) && one.versions.length && one.versions.every((version) => isSoundVersion(version, one.record)));
  return sound ? "" : "This reply sheet is damaged.";
}

async function continueSheet(file) {
  let sheet = null;
  try {
    sheet = JSON.parse(await file.text());
  } catch {
    // said below
  }
  const fault = draft.unsaved && draft.answers.length ? "Some answers here are not saved yet. Save the reply first, then continue the other." : sheetFault(sheet);
  if (fault) {
    tell(fault);
    return;
  }
  draft = { ...freshDraft(), frames: draft.frames, sheet: sheet.sheet, made: sheet.made, by: sheet.by,
    answers: sheet.given.map((one) => ({ ...one, now: (({ at, ...content }) => content)(one.versions.at(-1)) })) };
  keepDraft(false);
  showAnswers();
  tell(`Continued: ${sheet.given.length} answer${sheet.given.length === 1 ? "" : "s"}.`);
}
