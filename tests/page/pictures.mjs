// Pictures of every view of a page, for looking at: node tests/page/pictures.mjs PAGE.html FOLDER [TALK.html …]
// Both themes, a wide and a narrow window, and paper; other pages get one picture of each kind.
import { mkdirSync } from "node:fs";
import { basename, resolve } from "node:path";
import { open, start } from "./browser.mjs";

const [path, folder, ...others] = process.argv.slice(2).map((one) => resolve(one));
mkdirSync(folder, { recursive: true });
const browser = await start();
const kinds = ["light", "dark"].flatMap((colorScheme) => [1280, 380].map((width) => ({ colorScheme, viewport: { width, height: width === 380 ? 780 : 860 }, name: `${colorScheme}-${width}` })));

async function items(kind) {
  const { page, context } = await open(browser, path, kind);
  const shot = (what, options = {}) => page.screenshot({ path: `${folder}/${kind.name}-${what}.png`, ...options });
  await shot("1-top");
  const first = page.locator("section.stamp").first();
  await first.getByLabel("Positions", { exact: true }).check();
  await first.getByLabel(/^Positions, as/).fill("column 4 but not row 2");
  await first.getByRole("button", { name: /What fits/ }).click();
  await first.scrollIntoViewIfNeeded();
  await page.waitForTimeout(150);
  await first.screenshot({ path: `${folder}/${kind.name}-2-answer.png` });
  await first.getByRole("button", { name: /Look closely/ }).click();
  await page.waitForTimeout(400);
  await shot("3-look");
  await page.keyboard.press("Escape");
  await page.click("#open-compare");
  await page.waitForTimeout(400);
  await shot("4-compare");
  await page.selectOption("#compare-mode", "over");
  await page.waitForTimeout(300);
  await shot("5-over");
  await page.keyboard.press("Escape");
  await page.locator(".mail, footer").first().scrollIntoViewIfNeeded();
  await shot("6-end");
  await context.close();
}

for (const kind of kinds) {
  await items(kind);
  for (const other of others) {
    const { page, context } = await open(browser, other, kind);
    await page.waitForTimeout(200);
    await page.screenshot({ path: `${folder}/${kind.name}-${basename(other, ".html")}.png` });
    if (other.includes("talk")) {
      for (let i = 0; i < 2; i++) await page.keyboard.press("ArrowRight");
      await page.waitForTimeout(300);
      await page.screenshot({ path: `${folder}/${kind.name}-${basename(other, ".html")}-close-up.png` });
    }
    await context.close();
  }
}
const { page } = await open(browser, path);
await page.pdf({ path: `${folder}/paper.pdf`, format: "A4", printBackground: false, margin: { top: "15mm", bottom: "15mm", left: "15mm", right: "15mm" } });
await browser.close();
