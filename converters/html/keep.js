// The answers: kept in the browser with every change, and in reply sheets (spec/reply-sheet.md). An answer is
// { number, record, stamp, now, versions }: `now` is what the form says, `versions` what was saved.
const draftKey = `glassine reply ${given.bundle} ${given.event ?? ""}`;
const uuid = () => crypto.randomUUID ? crypto.randomUUID() : randomUuid();

// Where a browser lends randomUUID to secure pages only: RFC 9562, version 4.
function randomUuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = bytes[6] & 0x0f | 0x40;
  bytes[8] = bytes[8] & 0x3f | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const freshDraft = () => ({ sheet: uuid(), made: "", by: given.answer_by ?? "", answers: [], frames: {}, unsaved: false });
let draft = freshDraft();
let keptInBrowser = true;

function loadDraft() {
  try {
    const text = localStorage.getItem(draftKey);
    if (text) draft = { ...draft, ...JSON.parse(text) };
  } catch {
    keptInBrowser = false;
  }
}

function keepDraft(unsaved = true) {
  draft.unsaved = unsaved || draft.unsaved;
  try {
    localStorage.setItem(draftKey, JSON.stringify(draft));
  } catch {
    if (keptInBrowser) tell("This browser keeps nothing for this page: save the reply sheet before you close it.");
    keptInBrowser = false;
  }
  for (const listener of keepListeners) listener();
}

// Another tab shows the same page: what is answered there is answered here, and the reply is one sheet.
addEventListener("storage", (event) => {
  if (event.key !== draftKey || event.newValue === null) return;
  loadDraft();
  find("#who").value = draft.by;
  showAnswers();
});

const keepListeners = [];
addEventListener("beforeunload", (event) => {
  if (draft.unsaved && !keptInBrowser) event.preventDefault();
});

const answersOn = (stamp, record) => draft.answers.filter((answer) => answer.stamp === stamp && (!record || answer.record === record));
const standing = (answer) => answer.now && !answer.now.withdrawn;
const nextNumber = () => draft.answers.reduce((most, answer) => Math.max(most, answer.number), 0) + 1;

// The one standing answer of this kind on the stamp becomes `now`; one is made where there is none.
function setAnswer(stamp, record, now) {
  let answer = answersOn(stamp, record).find((one) => record !== "observation" && !(one.versions.at(-1)?.withdrawn && !one.now));
  if (!answer) {
    answer = { number: nextNumber(), record, stamp, now: null, versions: [] };
    draft.answers.push(answer);
  }
  answer.now = now;
  keepDraft();
  return answer;
}

function addObservation(stamp, now) {
  const answer = { number: nextNumber(), record: "observation", stamp, now, versions: [] };
  draft.answers.push(answer);
  keepDraft();
  return answer;
}

// What was never saved goes; what was is withdrawn with the next save.
function takeBack(answer) {
  if (answer.versions.length) answer.now = { ...answer.versions.at(-1), withdrawn: true };
  else draft.answers = draft.answers.filter((one) => one !== answer);
  keepDraft();
}
