// The other faces of the page, what is said aloud, the lens, and paper.
import { readFileSync } from "node:fs";
import { Checks, open, start } from "./browser.mjs";

const [folder] = process.argv.slice(2);
const checks = new Checks();
const browser = await start();

{ // A talk is given with the keys alone.
  const { page, seen, context } = await open(browser, `${folder}/talk.html`);
  const shown = () => page.evaluate(() => ({ items: [...document.querySelectorAll("section.item:not([hidden]) h2")].map((one) => one.textContent),
    closeUp: document.querySelector("#stage").hidden ? null : document.querySelector("#stage-name").textContent + ": " + document.querySelector("#stage-text").textContent,
    place: document.querySelector("#step-place").textContent, foot: !document.querySelector("footer").hidden }));
  const steps = [];
  steps.push(await shown());
  for (const key of ["ArrowRight", "PageDown", " ", "ArrowRight", "ArrowRight", "ArrowRight"]) {
    await page.keyboard.press(key);
    steps.push(await shown());
  }
  checks.equal("talk: its title, one thing a screen, then what is to be known of it all", steps, [
    { items: [], closeUp: null, place: "1 of 6", foot: false }, { items: ["K-001"], closeUp: null, place: "2 of 6", foot: false }, { items: ["K-002"], closeUp: null, place: "3 of 6", foot: false },
    { items: [], closeUp: "K-002: dot at 62, 911 thousandths", place: "4 of 6", foot: false }, { items: ["K-003"], closeUp: null, place: "5 of 6", foot: false },
    { items: [], closeUp: null, place: "6 of 6", foot: true }, { items: [], closeUp: null, place: "6 of 6", foot: true }]);
  await page.keyboard.press("Home");
  checks.equal("talk: Home", (await shown()).place, "1 of 6");
  await page.keyboard.press("End");
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("PageUp");
  checks.equal("talk: End, and back", (await shown()).place, "4 of 6");
  await page.locator("#step-on").focus();
  await page.keyboard.press(" ");
  checks.equal("talk: the space bar on a button presses it once", (await shown()).place, "5 of 6");
  checks.equal("talk: the step is told to everybody", await page.locator("#step-place").getAttribute("role"), "status");
  checks.equal("talk: no complaint", seen.complaints, []);
  await context.close();
}

{ // A selection in its order, with its captions.
  const { page, context } = await open(browser, `${folder}/selection.html`);
  checks.equal("selection: its items in its order", await page.locator("section.item h2").allTextContents(), ["K-003", "K-001"]);
  checks.equal("selection: with its captions", await page.locator("p.caption").allTextContents(), ["The last", "The first"]);
  await context.close();
}

{ // The lens enlarges about the pointer, and nothing else changes.
  const { page, context } = await open(browser, `${folder}/sent/open-me.html`);
  const first = page.locator('section.stamp[data-number="1"]');
  await first.getByRole("button", { name: /Look closely/ }).click();
  await page.selectOption("#look-mode", "look");
  const board = await page.locator("#look-canvas").boundingBox();
  const at = { x: board.x + board.width / 2, y: board.y + 10 };
  await page.mouse.move(at.x, at.y);
  const sums = () => page.evaluate(async ([x, y]) => {
    await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
    const canvas = document.querySelector("#look-canvas"), context = canvas.getContext("2d");
    const sum = (left, top, size) => context.getImageData(left, top, size, size).data.reduce((total, one, i) => (total * 31 + one * (i % 7 + 1)) % 1000003, 7);
    return { near: sum(x - 40, y, 80), far: sum(0, canvas.height - 60, 60) };
  }, [board.width / 2, 10]);
  const before = await sums();
  await page.locator("#look-lens").check();
  await page.mouse.move(at.x + 1, at.y);
  const after = await sums();
  checks.ok("lens: changes what is under the pointer", before.near !== after.near);
  checks.equal("lens: and nothing far from it", after.far, before.far);

  // What is said aloud: the one place for messages, live, and inside the open window.
  await page.selectOption("#look-mode", "mark");
  await page.locator("#look-canvas").focus();
  await page.keyboard.press("Enter");
  const told = page.locator("#told");
  checks.ok("live: marking by the keyboard is told", (await told.textContent()).startsWith("Marked: dot"), await told.textContent());
  checks.equal("live: politely", [await told.getAttribute("role"), await told.getAttribute("aria-live")], ["status", "polite"]);
  checks.ok("live: inside the open window, where it is heard", await page.evaluate(() => document.querySelector("#look").contains(document.querySelector("#told"))));
  checks.ok("live: the picture has a name that tells the keys", (await page.locator("#look-canvas").getAttribute("aria-label")).includes("Arrow keys move"));
  await page.keyboard.press("Escape");
  checks.ok("live: closing gives the focus back", await page.evaluate(() => document.activeElement.textContent.startsWith("Look closely")));
  await page.click("#save");
  checks.ok("live: saving is told", (await told.textContent()).startsWith("Saved as reply-"), await told.textContent());
  checks.equal("landmarks", await page.evaluate(() => ["header", "nav", "main", "footer"].map((one) => document.querySelectorAll(`body > ${one}:not([hidden])`).length)), [1, 1, 1, 1]);
  await context.close();
}

{ // Two scans are aligned by the keyboard alone.
  const { page, context } = await open(browser, `${folder}/sent/open-me.html`);
  await page.locator("#open-compare").focus();
  await page.keyboard.press("Enter");
  await page.locator("#compare-points").focus();
  await page.keyboard.press("Enter");
  for (const keys of [[], [], ["ArrowRight", "ArrowDown"], ["ArrowRight", "ArrowDown"]]) {
    for (const key of [...keys, "Enter"]) await page.keyboard.press(key);
  }
  const told = await page.locator("#compare-told").textContent();
  checks.ok("keyboard: two scans are aligned", told.startsWith("Aligned: the second is scaled by 1.000 and turned by 0.00"), told);
  await page.keyboard.press("Escape");
  checks.ok("keyboard: and left", await page.locator("#compare").isHidden());
  await context.close();
}

{ // On paper: items, pictures and questions, with room to write; nothing to press.
  const { page, context } = await open(browser, `${folder}/sent/open-me.html`);
  await page.emulateMedia({ media: "print" });
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  const visible = (selector) => page.evaluate((one) => [...document.querySelectorAll(one)].filter((element) => element.checkVisibility()).length, selector);
  checks.equal("paper: all items, pictures and questions", [await visible("section.item"), await visible("figure img"), await visible("section.stamp h3")], [3, 3, 3]);
  checks.equal("paper: nothing to press", await visible("button:not(.open-scan), select, input, textarea, summary + *:empty"), 0);
  checks.equal("paper: ink on white", await page.evaluate(() => [getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]), ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]);
  checks.ok("paper: room for the answer", await page.evaluate(() => getComputedStyle(document.querySelector("section.stamp"), "::after").content.includes("____")));
  checks.ok("paper: what was seen and said is unfolded", await page.evaluate(() => [...document.querySelectorAll("details.said")].every((one) => one.open)));
  checks.ok("paper: it prints", (await page.pdf({ format: "A4" })).length > 10000);
  await context.close();
}

{ // Without scripts the numbers are those of the letter.
  const { page, context } = await open(browser, `${folder}/sent/open-me.html`, { javaScriptEnabled: false });
  const letter = [...readFileSync(`${folder}/sent/letter.txt`, "utf8").matchAll(/^(\d+)\. (\S+)/gm)].map(([, number, label]) => `Question ${number}: ${label}`);
  checks.equal("without scripts: the letter's numbers", await page.locator("section.stamp h3").allTextContents(), letter);
  checks.ok("without scripts: how to answer", (await page.locator(".mail").innerText()).includes("2: column 4 but not row 2"));
  checks.ok("without scripts: what was asked", (await page.locator(".ask").innerText()).includes("Which positions?"));
  await context.close();
}

await browser.close();
checks.end();
