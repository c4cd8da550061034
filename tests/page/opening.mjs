// What a page costs in the browser: node tests/page/opening.mjs PAGE.html prints {"name": [value, "unit"]} as JSON.
// Opening until it can be read and used, scrolling through all of it, and the memory of all of Chromium's processes.
import { readFileSync, readdirSync } from "node:fs";
import { resolve } from "node:path";
import { open, start } from "./browser.mjs";

// Proportional set size: what several processes share counts once (proc(5), smaps_rollup).
function memoryOf(marker) {
  let sum = 0;
  for (const pid of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
    try {
      if (!readFileSync(`/proc/${pid}/cmdline`, "utf8").includes("chrom")) continue;
      if (!readFileSync(`/proc/${pid}/environ`, "utf8").includes(marker)) continue;
      sum += Number(readFileSync(`/proc/${pid}/smaps_rollup`, "utf8").match(/^Pss:\s+(\d+)/m)[1]);
    } catch {
      // gone meanwhile
    }
  }
  return sum / 1024;
}

const marker = `GLASSINE_BENCH=${process.pid}`;
process.env.GLASSINE_BENCH = String(process.pid);
const browser = await start();
const began = performance.now();
const { page, seen } = await open(browser, resolve(process.argv[2]), { patience: 900000 });
await page.locator("body.works").waitFor({ timeout: 600000 });
const opened = performance.now() - began;
const atFirst = memoryOf(marker);
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
  return { screens: times.length, middle: times[times.length >> 1], worst: times[Math.floor(times.length * 0.99)] };
});
const after = memoryOf(marker);
const looked = performance.now();
await page.locator("section.stamp").last().getByRole("button", { name: /Look closely/ }).click();
await page.locator("#look[open]").waitFor();
const looking = performance.now() - looked;
const complaints = seen.complaints.length;
await browser.close();
console.log(JSON.stringify({ "opening": [opened / 1000, "s"], "memory when opened": [atFirst, "MiB"], "screens scrolled": [scrolling.screens, ""],
  "a screen, median": [scrolling.middle, "ms"], "a screen, 99 of 100": [scrolling.worst, "ms"], "memory after scrolling": [after, "MiB"],
  "opening a scan": [looking, "ms"], "complaints": [complaints, ""] }));
