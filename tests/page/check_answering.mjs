// Answering with the page, as somebody does it: look, mark, compare, answer, save; and continue what was saved.
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { Checks, open, start } from "./browser.mjs";

const [folder, program] = process.argv.slice(2);
const checks = new Checks();
const browser = await start();
const { page, seen, context } = await open(browser, `${folder}/sent/open-me.html`);
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
await question(2).locator(".plate button").first().waitFor();
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
checks.ok("what fits is told", /: weight 0\.\d{3}/.test(await question(1).locator(".thinking").textContent()));

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

// Two tabs of one browser: one reply, to which each adds.
const second = await context.newPage();
await second.goto(page.url());
const elsewhere = (number) => second.locator(`section.stamp[data-number="${number}"]`);
await elsewhere(2).getByLabel(/^Positions, as/).fill("15");
await page.waitForFunction(() => document.querySelector('section.stamp[data-number="2"] .positions input').value === "15");
await question(1).getByLabel("Remark").fill("Seen in the first tab");
await second.waitForFunction(() => document.querySelector('section.stamp[data-number="1"] textarea').value === "Seen in the first tab");
await second.close();
const both = await save();
checks.equal("what two tabs say is one sheet", [both.sheet.sheet, both.sheet.given[0].versions.at(-1).remark, both.sheet.given[1].versions.at(-1).positions], [first.sheet.sheet, "Seen in the first tab", "15"]);

checks.equal("no complaint on the console", seen.complaints, []);
checks.equal("no request leaves the page", seen.requests, []);
await context.close();

// Continued from its file, elsewhere.
const other = await open(browser, `${folder}/sent/open-me.html`);
await other.page.setInputFiles("#continue", corrected.path);
await other.page.waitForFunction(() => document.querySelector("#told").textContent.includes("Continued"));
checks.equal("continued elsewhere", await other.page.locator('section.stamp[data-number="2"]').getByLabel(/^Positions, as/).inputValue(), "14");
await other.context.close();
await browser.close();

// Taken in: who said what, through whom and when; again: nothing; corrected: revised, in whatever order.
const environment = { ...process.env, XDG_CONFIG_HOME: `${folder}/config`, XDG_STATE_HOME: `${folder}/state` };
const glassine = (...words) => {
  const done = spawnSync(program, [...words, "--json"], { cwd: folder, encoding: "utf8", env: environment });
  return { status: done.status, ...JSON.parse(done.stdout) };
};
const copied = (name) => { writeFileSync(`${folder}/${name}`, readFileSync(`${folder}/plain.glassine`)); return name; };
const home = copied("home.glassine"), merged = glassine("merge", home, first.path);
checks.ok("merged", merged.status === 0 || merged.status === 1, JSON.stringify(merged.error));
checks.equal("as a reply sheet", merged.result?.sources?.[0]?.kind, "sheet");
const listed = glassine("list", home, "claim").result;
checks.equal("two claims are there", JSON.stringify(listed).match(/claim\//g)?.length >= 2, true);
const ids = [...new Set(JSON.stringify(listed).match(/claim\/[0-9a-f-]{36}/g))];
const shown = ids.map((id) => spawnSync(program, ["show", home, id, "--history", "--json"], { cwd: folder, encoding: "utf8", env: environment }).stdout).join("");
for (const [what, text] of [["the positions", "column 4"], ["the remark", "The <dot> & the line"], ["who said it", "Odile Farrow"], ["through whom", `"via":"${first.sheet.via}"`], ["when", first.sheet.made]])
  checks.ok(`the claim has ${what}`, shown.includes(text), shown.slice(0, 400));
checks.ok("what was marked is there", JSON.stringify(glassine("list", home, "observation")).includes("doubling"));
checks.ok("nobody can tell K-003", JSON.stringify(glassine("list", home, "opinion")).includes("cannot tell"));
checks.equal("nothing is pending any more", glassine("pending", home).status, 0);
const edition = (bundle) => glassine("editions", bundle).edition, digest = (bundle) => glassine("digest", bundle).result.digest;
const before = [edition(home), digest(home)];
glassine("merge", home, first.path);
checks.equal("merged again: nothing changes", [edition(home), digest(home)], before);
glassine("merge", home, corrected.path);
checks.ok("the correction revises", digest(home) !== before[1]);
glassine("merge", home, first.path);
const late = copied("late.glassine");
glassine("merge", late, corrected.path);
checks.equal("the correction alone amounts to the same", digest(late), digest(home));

// Refused whole, with the answer's number and the reason.
const refused = (what, change, wanted) => {
  const sheet = JSON.parse(JSON.stringify(corrected.sheet)), bundle = copied("refused.glassine");
  const text = change(sheet);
  writeFileSync(`${folder}/bad.json`, typeof text === "string" ? text : JSON.stringify(sheet));
  const was = digest(bundle), found = glassine("merge", bundle, "bad.json");
  checks.ok(`refused: ${what}`, found.status === 2 && wanted.test(`${found.error?.place} ${found.error?.message} ${found.error?.rule}`) && digest(bundle) === was, JSON.stringify(found.error));
};
const whole = JSON.stringify(corrected.sheet);
refused("another dispatch", (sheet) => { sheet.answers = "event/00000000-0000-4000-8000-000000000000"; }, /dispatch that was not sent/);
refused("an unknown stamp", (sheet) => { sheet.given[1].stamp = "stamp/00000000-0000-4000-8000-000000000000"; }, /answer 2 .*stamp.*R032/);
refused("a position the plate lacks", (sheet) => { sheet.given[0].versions[0].positions = "131"; }, /answer 1 .*plate 1 has 120 positions.*R201/);
refused("a torn file", () => whole.slice(0, whole.length / 2), /no whole JSON/);
refused("every other torn file", () => whole.slice(0, -3), /no whole JSON/);
refused("something that is no sheet", () => "{}", /does not say that it is/);
refused("somebody unknown", (sheet) => { sheet.by = "contributor/00000000-0000-4000-8000-000000000000"; }, /by.*R032/);
refused("a field that is nobody's", (sheet) => { sheet.given[0].versions[0].cost_minor = 5; }, /answer 1 .*cost_minor.*R011/);
refused("a number twice", (sheet) => { sheet.given[1].number = 1; }, /answer 1 .*out of order/);
refused("control characters", (sheet) => { sheet.given[0].versions[0].remark = "a\u0007b"; }, /answer 1 .*R027/);
refused("a nest", (sheet) => { sheet.given[0].versions[0].plates = [["x"]]; }, /answer 1/);
refused("a member twice", () => whole.replace("{", '{"by":"x",'), /no whole JSON/);
refused("a record of another type", (sheet) => { sheet.given[0].record = "valuation"; }, /answer 1 .*R010/);
refused("a version before the one before", (sheet) => { sheet.given[1].versions[1].at = "2001-01-01T00:00:00Z"; }, /answer 2 .*out of order/);
refused("a wrong confidence", (sheet) => { sheet.given[0].versions[0].confidence = "sworn"; }, /answer 1 .*confidence.*R021/);
checks.end();
