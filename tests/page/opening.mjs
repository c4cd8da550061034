// What a page costs in the browser: node tests/page/opening.mjs PAGE.html prints {"name": [value, "unit"]} as JSON.
// Opening until it can be read and used, scrolling through all of it, and the memory of all of Chromium's processes.
import { readFileSync, readdirSync } from "node:fs";
import { resolve } from "node:path";
import { open, start } from "./browser.mjs";

// Of all processes that this one started, directly or through others. Proportional set size: what several processes
// share counts once (proc(5), smaps_rollup).
function memoryOfChildren() {
  const parents = new Map(readdirSync("/proc").filter((name) => /^\d+$/.test(name)).flatMap((pid) => {
    try {
      return [[Number(pid), Number(readFileSync(`/proc/${pid}/stat`, "utf8").replace(/^.*\) /s, "").split(" ")[1])]];
    } catch {
      return []; // gone meanwhile
    }
  }));
  const isOurs = (pid) => pid === process.pid || (parents.has(pid) && pid > 1 && isOurs(parents.get(pid)));
  let sum = 0;
  for (const pid of parents.keys()) {
    try {
      if (pid !== process.pid && isOurs(pid)) sum += Number(readFileSync(`/proc/${pid}/smaps_rollup`, "utf8").match(/^Pss:\s+(\d+)/m)[1]);
    } catch {
      // gone meanwhile
    }
  }
  return sum / 1024;
}

const browser = await start();
const began = performance.now();
const { page, seen } = await open(browser, resolve(process.argv[2]), { patience: 900000 });
await page.locator("body.works").waitFor({ timeout: 600000 });
const opened = performance.now() - began;
const atFirst = memoryOfChildren();
const { paint, heap } = await page.evaluate(() => ({ paint: performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? 0, heap: (performance.memory?.usedJSHeapSize ?? 0) / 2 ** 20 }));
const scrolling = await page.evaluate(async () => {
  const frame = () => new Promise(requestAnimationFrame), times = [];
  const began = performance.now();
  while (scrollY + innerHeight < document.documentElement.scrollHeight - 2 && performance.now() - began < 120000) {
    const before = performance.now();
    scrollBy({ top: innerHeight * 0.9, behavior: "instant" });
    await frame();
    await frame();
    times.push(performance.now() - before);
  }
  times.sort((a, b) => a - b);
  return { screens: times.length, middle: times[times.length >> 1], most: times[Math.floor(times.length * 0.99)], longest: times.at(-1) };
});
const after = memoryOfChildren();
const looked = performance.now();
await page.locator("section.stamp").last().getByRole("button", { name: /Look closely/ }).click();
await page.locator("#look[open]").waitFor();
const looking = performance.now() - looked;
const complaints = seen.complaints.length;
await browser.close();
console.log(JSON.stringify({ "first paint": [paint / 1000, "s"], "opening": [opened / 1000, "s"], "heap of the script": [heap, "MiB"], "memory when opened": [atFirst, "MiB"], "screens scrolled": [scrolling.screens, ""],
  "a screen, median": [scrolling.middle, "ms"], "a screen, 99 of 100": [scrolling.most, "ms"], "a screen, longest": [scrolling.longest, "ms"], "memory after scrolling": [after, "MiB"],
  "opening a scan": [looking, "ms"], "complaints": [complaints, ""] }));
