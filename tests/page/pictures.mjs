// Pictures of every view of a page, for looking at: node tests/page/pictures.mjs PAGE.html FOLDER [TALK.html …]
// Both themes, a wide and a narrow window, with scripts and without, and paper; other pages whole, and of a talk a close-up.
import { mkdirSync } from "node:fs";
import { basename, resolve } from "node:path";
import { open, start } from "./browser.mjs";

const [path, folder, ...others] = process.argv.slice(2).map((one) => resolve(one));
mkdirSync(folder, { recursive: true });
const browser = await start();
const kinds = ["light", "dark"].flatMap((colorScheme) => [1280, 380].map((width) => ({ colorScheme, viewport: { width, height: width === 380 ? 780 : 860 }, name: `${colorScheme}-${width}` })));
const settled = (page) => page.waitForTimeout(400);

async function pictureOf(page, kind, what, options = {}) {
  await settled(page);
  await page.screenshot({ path: `${folder}/${kind.name}-${what}.png`, ...options });
}

async function looking(page, kind) {
  await page.locator("section.stamp").first().getByRole("button", { name: /Look closely/ }).click();
  await pictureOf(page, kind, "3-look");
  await page.selectOption("#look-mode", "mark");
  const board = await page.locator("#look-canvas").boundingBox();
  for (const [x, y] of [[.5, .4], [.55, .6]]) await page.mouse.click(board.x + board.width * x, board.y + board.height * y);
  await pictureOf(page, kind, "3-look-marked");
  await page.selectOption("#look-mode", "look");
  await page.mouse.move(board.x + board.width * .5, board.y + board.height * .45);
  for (let i = 0; i < 4; i++) await page.mouse.wheel(0, -120);
  await page.locator("#look-lens").check();
  await page.mouse.move(board.x + board.width * .52, board.y + board.height * .47);
  await pictureOf(page, kind, "3-look-lens");
  await page.locator("#look-lens").uncheck();
  await page.selectOption("#look-channel", "green");
  await page.locator("#look-contrast").fill("2.5");
  await page.click("#look-right");
  await pictureOf(page, kind, "3-look-one-colour");
  await page.keyboard.press("Escape");
}

async function comparing(page, kind) {
  await page.click("#open-compare");
  await pictureOf(page, kind, "4-compare");
  await page.click("#compare-points");
  for (const [canvas, x, y] of [["first", .4, .3], ["second", .4, .3], ["first", .6, .7], ["second", .58, .71]]) {
    const box = await page.locator(`#compare-canvas-${canvas}`).boundingBox();
    await page.mouse.click(box.x + box.width * x, box.y + box.height * y);
  }
  await pictureOf(page, kind, "5-over");
  await page.keyboard.press("Escape");
}

async function items(kind) {
  const { page, context } = await open(browser, path, kind);
  await pictureOf(page, kind, "1-top");
  const question = (number) => page.locator(`section.stamp[data-number="${number}"]`);
  await looking(page, kind);
  await question(1).getByLabel("Positions", { exact: true }).check();
  await question(1).getByLabel(/^Positions, as/).fill("131");
  await settled(page);
  await question(1).screenshot({ path: `${folder}/${kind.name}-2-refused.png` });
  await question(1).getByLabel(/^Positions, as/).fill("column 4 but not row 2");
  await question(1).getByRole("button", { name: /What fits/ }).click();
  await settled(page);
  await question(1).screenshot({ path: `${folder}/${kind.name}-2-answer.png` });
  await question(2).getByLabel("Another plate").check();
  await question(2).screenshot({ path: `${folder}/${kind.name}-2-another-plate.png` });
  await comparing(page, kind);
  await page.locator(".mail, footer").first().scrollIntoViewIfNeeded();
  await pictureOf(page, kind, "6-end");
  await page.click("#save");
  await pictureOf(page, kind, "7-saved");
  await context.close();
}

async function withoutScripts(kind) {
  const { page, context } = await open(browser, path, { ...kind, javaScriptEnabled: false });
  await pictureOf(page, kind, "8-no-scripts", { fullPage: true });
  await context.close();
}

async function other(kind, one) {
  const name = basename(one, ".html"), { page, context } = await open(browser, one, kind);
  await pictureOf(page, kind, name);
  if (name.includes("talk")) {
    while (await page.locator("#stage").isHidden() && await page.locator("footer").isHidden()) await page.keyboard.press("ArrowRight");
    await pictureOf(page, kind, `${name}-close-up`);
    await page.keyboard.press("End");
  } else {
    await page.locator("footer").scrollIntoViewIfNeeded();
  }
  await pictureOf(page, kind, `${name}-end`);
  await context.close();
}

async function paper(one) {
  const { page, context } = await open(browser, one);
  await page.pdf({ path: `${folder}/${basename(one, ".html")}.pdf`, format: "A4", printBackground: false, margin: { top: "15mm", bottom: "15mm", left: "15mm", right: "15mm" } });
  await context.close();
}

for (const kind of kinds) {
  await items(kind);
  await withoutScripts(kind);
  for (const one of others) await other(kind, one);
}
for (const one of [path, ...others]) await paper(one);
await browser.close();
