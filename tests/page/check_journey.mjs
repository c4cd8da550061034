// The specialist's whole way, on the demo's own dispatch: opened from its folder, answered, saved, taken in.
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { Checks, open, start } from "./browser.mjs";

const [folder, program] = process.argv.slice(2);
const checks = new Checks();
const browser = await start();
const sent = `${folder}/demo/for-odile/open-me.html`;
const { page, seen, context } = await open(browser, sent);
const question = (number) => page.locator(`section.stamp[data-number="${number}"]`);

checks.equal("three items and their questions", [await page.locator("section.item h2").allTextContents(), await page.locator("section.stamp h3").allTextContents()],
  [["K-002", "K-007", "K-014"], ["Question 1: K-002", "Question 2: K-007", "Question 3: K-014"]]);
checks.equal("every picture is drawn", await page.evaluate(async () => {
  const images = [...document.querySelectorAll("figure img")];
  await Promise.all(images.map((one) => one.decode()));
  return [images.length, images.every((one) => one.naturalWidth > 900)];
}), [8, true]);
checks.equal("a cover's front comes first, its back last", await page.locator("section.item:nth-of-type(3) figcaption").allTextContents().then((all) => all.map((one) => one.split(" ")[0])), ["front", "detail", "back"]);

// The first: on the plate.
await question(1).getByLabel("Positions", { exact: true }).check();
await question(1).locator(".map > summary").click();
await question(1).locator(".plate").getByRole("gridcell", { name: "19, row 2, stamp 9" }).click();
checks.equal("chosen on the plate", await question(1).getByLabel(/^Positions, as/).inputValue(), "19");
await question(1).getByLabel("State").selectOption({ label: "early" });
await question(1).getByLabel("How sure you are").selectOption("certain");

// What is seen on its scan.
await question(1).getByRole("button", { name: /Look closely/ }).click();
await page.selectOption("#look-mode", "mark");
await page.selectOption("#look-appearance", "doubling");
await page.locator("#look-text").fill("Right frame line doubled");
const fits = page.locator("#look-fits");
checks.ok("what fits stands beside the picture", await fits.isVisible());
const likely = () => fits.locator(".small-map .likely").allTextContents();
checks.equal("of what the keeper saw: one position is left", [await likely(), await fits.locator(".small-map .dim").count()], [["19"], 119]);
const board = await page.locator("#look-canvas").boundingBox();
await page.mouse.click(board.x + board.width / 2, board.y + board.height * .45);
const told = page.locator("#told");
checks.ok("marking is told, with what fits", /^Marked: doubling at \d+, \d+ thousandths: Right frame line doubled\. Fits best: 19 \(row 2, stamp 9\)/.test(await told.textContent()), await told.textContent());
checks.ok("and known marks that it looks like", /Known marks that it looks like:\s+(.+\s+)?doubling at 820, 996/.test(await fits.innerText()), await fits.innerText());
checks.ok("and other stamps", (await fits.innerText()).includes("K-014"), await fits.innerText());
checks.ok("and where to look next", (await fits.innerText()).includes("Look next: "));
await page.click("#look-think");
checks.ok("which can be put away", await fits.isHidden());
await page.keyboard.press("Escape");

// A stamp on a cover is looked at where it fills the scan.
await question(3).getByRole("button", { name: /Look closely/ }).click();
checks.equal("of a cover the detail", await page.locator("#look-scan option:checked").textContent(), "2: detail");
await page.keyboard.press("Escape");

// Two scans, by two points on each.
await page.click("#open-compare");
await page.selectOption("#compare-first", { index: 0 });
await page.selectOption("#compare-second", { label: await page.locator("#compare-second option", { hasText: "K-014, detail" }).textContent() });
await page.click("#compare-points");
for (const [canvas, x, y] of [["first", .35, .3], ["second", .36, .31], ["first", .6, .7], ["second", .6, .7]]) {
  const box = await page.locator(`#compare-canvas-${canvas}`).boundingBox();
  await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
}
checks.ok("aligned", /^Aligned: the second is scaled by \d\.\d{3} and turned by -?\d+\.\d\d degrees/.test(await page.locator("#compare-told").textContent()), await page.locator("#compare-told").textContent());
await page.keyboard.press("Escape");

// The second by an expression, the third cannot be told.
await question(2).getByLabel("Positions", { exact: true }).check();
await question(2).getByLabel(/^Positions, as/).fill("row 2 but not column 3-10");
checks.equal("the expression is echoed", await question(2).locator(".echo").textContent(), "2 positions: 11, 12");
await question(3).getByLabel("Cannot tell").check();
checks.equal("all are answered", await page.locator("#answered").textContent(), "3 of 3 answered, not yet saved");

async function save() {
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("#save")]);
  const path = `${folder}/demo/${process.hrtime.bigint()}.json`;
  await download.saveAs(path);
  return { path, sheet: JSON.parse(readFileSync(path, "utf8")) };
}
const first = await save();

// Second thoughts: nobody can tell the second either.
await page.waitForTimeout(1100);
await question(2).getByLabel("Cannot tell").check();
const corrected = await save();

// What is not saved is not written over by another sheet.
await question(2).getByLabel("Remark").fill("Too worn");
await page.setInputFiles("#continue", first.path);
await page.waitForFunction(() => document.querySelector("#told").textContent !== "");
checks.ok("another sheet does not take the place of what is not saved", (await told.textContent()).startsWith("Some answers here are not saved yet"), await told.textContent());
checks.equal("which stays", await question(2).getByLabel("Remark").inputValue(), "Too worn");
await save();
const bad = { ...corrected.sheet, given: corrected.sheet.given.map((one) => ({ ...one, versions: [{ at: "2026-01-01T00:00:00Z", positions: "((", region: "x", plates: 5 }] })) };
await page.setInputFiles("#continue", { name: "bad.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(bad)) });
await page.waitForFunction(() => document.querySelector("#told").textContent.includes("damaged"));
const strange = { ...corrected.sheet, given: [{ ...corrected.sheet.given[0], versions: [{ at: "2026-01-01T00:00:00Z", positions: "((" }] }] };
await page.setInputFiles("#continue", { name: "strange.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(strange)) });
await page.waitForFunction(() => document.querySelector("#told").textContent.includes("Continued"));
checks.equal("a sheet with positions that are none is shown as it is, and marked", [await question(1).getByLabel(/^Positions, as/).inputValue(), await question(1).getByLabel(/^Positions, as/).getAttribute("aria-invalid")], ["((", "true"]);
const sighting = { ...corrected.sheet.given[0], number: 98, record: "observation" };
const odd = { ...corrected.sheet, given: [{ ...corrected.sheet.given[0], versions: [{ at: "2026-01-01T00:00:00Z", positions: "64", plates: [sighting.stamp] }] }] };
await page.setInputFiles("#continue", { name: "odd.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(odd)) });
await page.waitForFunction(() => document.querySelector("#told").textContent.startsWith("Continued: 1"));
checks.equal("a sheet that takes a stamp for a plate is shown on the plate that there is", [await question(1).getByLabel(/^Positions, as/).inputValue(), await question(1).getByLabel(/^Positions, as/).getAttribute("aria-invalid")], ["64", "false"]);
const blank = { ...corrected.sheet, given: [{ ...sighting, versions: [{ at: "2026-01-01T00:00:00Z", x: 1, y: 2 }] }] };
await page.setInputFiles("#continue", { name: "blank.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(blank)) });
await page.waitForFunction(() => document.querySelector("#told").textContent.includes("damaged"));
await page.reload();
checks.equal("none of them spoils the page", await question(1).getByLabel(/^Positions, as/).inputValue(), "64");

checks.equal("no complaint on the console", seen.complaints, []);
checks.equal("no request leaves the page", seen.requests, []);
await context.close();

{ // Without scripts every item and question can be read.
  const { page: still, context: other } = await open(browser, sent, { javaScriptEnabled: false });
  const text = await still.locator("body").innerText();
  for (const wanted of ["Which positions, and are K-002 and K-014 from one?", "Question 1: K-002", "Question 2: K-007", "Question 3: K-014", "Answering by e-mail"])
    checks.ok(`without scripts: ${wanted}`, text.includes(wanted));
  checks.equal("without scripts: all pictures", await still.locator("figure img").count(), 8);
  await other.close();
}
await browser.close();

// Taken in: who, through whom, when.
const environment = { ...process.env, XDG_CONFIG_HOME: `${folder}/config`, XDG_STATE_HOME: `${folder}/state` };
const glassine = (...words) => {
  const done = spawnSync(program, [words[0], `${folder}/demo/kingfisher.glassine`, ...words.slice(1), "--json"], { encoding: "utf8", env: environment });
  return { status: done.status, ...JSON.parse(done.stdout) };
};
const claims = () => glassine("list", "claim").result.records.filter((one) => one.author === first.sheet.by);
const saidOn = (record) => glassine("show", record).result.fields.flatMap((field) => field.values.map((one) => ({ field: field.field, ...one })));
glassine("merge", first.path);
checks.equal("two claims of hers, as she made them", claims().map((one) => one.fields.positions).sort(), ["19", "row 2 but not column 3-10"]);
const said = saidOn(claims().find((one) => one.fields.positions === "19").record).find((one) => one.field === "positions");
checks.equal("with author, via and time", [said.by_name, said.via, said.at], ["Odile Farrow", first.sheet.via, first.sheet.given.find((one) => one.record === "claim").versions[0].at]);
checks.ok("through the keeper", saidOn(first.sheet.via).some((one) => one.shown === "Wren Alderby"));
checks.equal("what she saw", glassine("list", "observation").result.records.filter((one) => one.author === first.sheet.by).map((one) => [one.fields.appearance, one.fields.text]), [["doubling", "Right frame line doubled"]]);
checks.equal("what she cannot tell", glassine("list", "opinion").result.records.map((one) => [one.author === first.sheet.by, one.fields.about]), [[true, "cannot tell"]]);
const state = () => [glassine("editions").edition, glassine("digest").result.digest], before = state();
glassine("merge", first.path);
checks.equal("merged again: nothing changes", state(), before);
glassine("merge", corrected.path);
checks.equal("corrected to \"cannot tell\": the claim of before is withdrawn", claims().map((one) => [one.fields.positions, one.fields.withdrawn === true]).sort(), [["19", false], ["row 2 but not column 3-10", true]]);
checks.equal("and both say so", glassine("list", "opinion").result.records.map((one) => one.fields.about), ["cannot tell", "cannot tell"]);
const after = state();
glassine("merge", first.path);
checks.equal("the earlier sheet once more: nothing changes", state(), after);
checks.end();
