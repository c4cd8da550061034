// Accessibility: axe-core finds no violation of WCAG A and AA in any view, in both themes, at two widths.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { Checks, open, start } from "./browser.mjs";

const [folder] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const checks = new Checks();
const browser = await start();
const standards = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

async function look(page, what) {
  const found = await page.evaluate((tags) => window.axe.run(document, { runOnly: { type: "tag", values: tags } }), standards);
  checks.ok(`looked at: ${what}`, found.passes.length > 10, found.passes.length);
  checks.equal(`no violation: ${what}`, found.violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.target.join(" ")).join("; ")}`), []);
}

for (const colorScheme of ["light", "dark"]) {
  for (const width of [1280, 380]) {
    const options = { colorScheme, viewport: { width, height: 900 }, bypassCSP: true }; // for axe alone: the page's rules keep it out
    const view = `${colorScheme}, ${width} pixels`;
    for (const name of ["schedule", "handover", "talk", "selection"]) {
      const { page, context } = await open(browser, `${folder}/${name}.html`, options);
      await page.evaluate(axe);
      await look(page, `${name}, ${view}`);
      await context.close();
    }
    const { page, context } = await open(browser, `${folder}/sent/open-me.html`, options);
    await page.evaluate(axe);
    await look(page, `items, ${view}`);
    const first = page.locator('section.stamp[data-number="1"]');
    await first.getByLabel("Positions", { exact: true }).check();
    await first.getByLabel(/^Positions, as/).fill("131");
    await first.locator(".map > summary").click();
    await first.locator(".plate button").first().waitFor();
    await first.getByRole("button", { name: /What fits/ }).click();
    await look(page, `an answer with its map, ${view}`);
    await first.getByRole("button", { name: /Look closely/ }).click();
    await look(page, `looking, ${view}`);
    await page.click("#look-think");
    await page.locator("#look-fits").waitFor();
    await look(page, `thinking beside the scan, ${view}`);
    await page.click("#look-close");
    await page.click("#open-compare");
    await look(page, `comparing, ${view}`);
    await page.click("#compare-close");
    await page.click("#save");
    await look(page, `saved, ${view}`);
    checks.ok(`nothing is wider than the page, ${view}`, await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
    await context.close();
  }
}
{ // The check itself finds what is wrong.
  const { page, context } = await open(browser, `${folder}/sent/open-me.html`, { bypassCSP: true });
  await page.evaluate(axe);
  const found = await page.evaluate((tags) => {
    document.querySelector("#save").textContent = "";
    document.querySelector("figure img").alt = "";
    document.querySelector("figure button").removeAttribute("aria-label");
    return window.axe.run(document, { runOnly: { type: "tag", values: tags } });
  }, standards);
  checks.ok("buttons without a name would be found", found.violations.some((one) => one.id === "button-name" && one.nodes.length >= 2));
  await context.close();
}
await browser.close();
checks.end();
