// Answering with the page, as somebody does it: look, mark, compare, answer, save; and continue what was saved.
import { readFileSync } from "node:fs";
import { Checks, open, start } from "./browser.mjs";

const [folder] = process.argv.slice(2);
const checks = new Checks();
const browser = await start();
const { page, seen, context } = await open(browser, `${folder}/sent/sent.html`);
const question = (number) => page.locator(`section.stamp[data-number="${number}"]`);

async function save() {
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("#save")]);
  const path = `${folder}/${process.hrtime.bigint()}.json`;
  await download.saveAs(path);
  return { path, name: download.suggestedFilename(), sheet: JSON.parse(readFileSync(path, "utf8")) };
}

checks.equal("who answers is whom it was sent to", await page.locator("#who option:checked").textContent(), "Odile Farrow");

// One by typing, checked as it is typed.
await question(1).getByLabel("Positions", { exact: true }).check();
const field = question(1).getByLabel(/^Positions, as/);
await field.fill("131");
checks.ok("what the plate lacks is told as it is typed", (await question(1).locator(".echo").textContent()).includes("plate 1 has 120 positions, at character 1 (R201)"));
checks.equal("and marked", await field.getAttribute("aria-invalid"), "true");
await field.fill("column 4 but not row 2-11");
checks.equal("what is understood is echoed", await question(1).locator(".echo").textContent(), "2 positions: 4, 114");
await question(1).getByLabel("How sure you are").selectOption("certain");
await question(1).getByLabel("Remark").fill("The <dot> & the line");

// One on the map, by the keyboard alone.
await question(2).getByLabel("Positions", { exact: true }).check();
await question(2).locator(".map > summary").focus();
await page.keyboard.press("Enter");
await page.keyboard.press("Tab");
for (const key of ["ArrowRight", "ArrowRight", "ArrowDown", "Enter"]) await page.keyboard.press(key);
checks.equal("the map says what was chosen", await question(2).getByLabel(/^Positions, as/).inputValue(), "13");

// One that nobody can tell.
await question(3).getByLabel("Cannot tell").check();

// Marking on the scan.
await question(1).getByRole("button", { name: /Look closely/ }).click();
checks.ok("the window is open", await page.locator("#look").isVisible());
await page.selectOption("#look-mode", "mark");
await page.selectOption("#look-appearance", "doubling");
const board = await page.locator("#look-canvas").boundingBox();
await page.mouse.click(board.x + board.width / 2, board.y + board.height / 2);
checks.ok("what was marked is listed", (await page.locator("#look-list").textContent()).includes("doubling"));
const painted = () => page.evaluate(() => {
  const canvas = document.querySelector("#look-canvas"), data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  let sum = 0;
  for (let i = 0; i < data.length; i += 401) sum = (sum * 31 + data[i]) % 1000003;
  return sum;
});
await page.waitForTimeout(200);
const plain = await painted();
for (const [what, act] of [["contrast", () => page.locator("#look-contrast").fill("3")], ["one colour", () => page.selectOption("#look-channel", "red")],
  ["turning", () => page.click("#look-right")], ["pixel for pixel", () => page.click("#look-pixel")]]) {
  const before = await painted();
  await act();
  await page.waitForTimeout(150);
  checks.ok(`${what} changes what is seen`, await painted() !== before, plain);
}
await page.keyboard.press("Escape");

// Comparing, aligned by two points on each.
await page.click("#open-compare");
await page.click("#compare-points");
for (const [canvas, x, y] of [["first", .3, .3], ["second", .3, .3], ["first", .6, .7], ["second", .6, .7]]) {
  const box = await page.locator(`#compare-canvas-${canvas}`).boundingBox();
  await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
}
checks.ok("aligned", (await page.locator("#compare-told").textContent()).startsWith("Aligned: the second is scaled by 1.000 and turned by 0.00"), await page.locator("#compare-told").textContent());
checks.equal("and laid over each other", await page.locator("#compare-mode").inputValue(), "over");
await page.click("#compare-close");

// What fits.
await question(1).getByRole("button", { name: /What fits/ }).click();
checks.ok("what fits is told", (await question(1).locator(".thinking").textContent()).includes("per cent"));

// Saving, twice; nothing is lost by closing the tab in between.
const first = await save();
checks.ok("the file has a telling name", /^reply-sorrel-islands-[0-9a-f]{8}\.json$/.test(first.name), first.name);
checks.equal("what it says", first.sheet.given.map((one) => [one.record, one.versions.length]), [["claim", 1], ["claim", 1], ["opinion", 1], ["observation", 1]]);
checks.equal("positions as typed", first.sheet.given[0].versions[0].positions, "column 4 but not row 2-11");
checks.equal("remark as typed", first.sheet.given[0].versions[0].remark, "The <dot> & the line");
await page.reload();
checks.equal("after closing, the answers are there", await question(1).getByLabel(/^Positions, as/).inputValue(), "column 4 but not row 2-11");
const again = await save();
checks.equal("saved again: the same sheet", again.sheet, first.sheet);
await page.waitForTimeout(1100);
await question(2).getByLabel(/^Positions, as/).fill("14");
const corrected = await save();
checks.equal("a correction is a version more", corrected.sheet.given.map((one) => one.versions.length), [1, 2, 1, 1]);
checks.equal("of the same sheet", corrected.sheet.sheet, first.sheet.sheet);

checks.equal("no complaint on the console", seen.complaints, []);
checks.equal("no request leaves the page", seen.requests, []);
await context.close();

// Continued from its file, elsewhere.
const other = await open(browser, `${folder}/sent/sent.html`);
await other.page.setInputFiles("#continue", corrected.path);
await other.page.waitForFunction(() => document.querySelector("#told").textContent.includes("Continued"));
checks.equal("continued elsewhere", await other.page.locator('section.stamp[data-number="2"]').getByLabel(/^Positions, as/).inputValue(), "14");
await other.context.close();
await browser.close();
checks.end();
