// Chromium as Debian has it, driven by script; every request and every console message is noted.
import { chromium } from "playwright-core";

const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync"];

// A fresh profile each time (Playwright makes and removes it).
export function start() {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true, args: FLAGS });
}

// A page of the file, with what it asked for and complained of.
export async function open(browser, path, options = {}) {
  const context = await browser.newContext({ acceptDownloads: true, viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const seen = { requests: [], complaints: [] };
  page.on("request", (request) => {
    if (!/^(data|blob):/.test(request.url()) && !request.url().startsWith("file://")) seen.requests.push(request.url());
    else if (request.url().startsWith("file://") && request.url().split("#")[0] !== new URL(`file://${path}`).href) seen.requests.push(request.url());
  });
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) seen.complaints.push(message.text()); });
  page.on("pageerror", (error) => seen.complaints.push(String(error)));
  page.setDefaultTimeout(options.patience ?? 60000);
  await page.goto(`file://${path}${options.hash ?? ""}`);
  return { page, context, seen };
}

export class Checks {
  passed = 0;
  failed = 0;
  ok(what, holds, detail = "") {
    if (holds) this.passed++;
    else this.failed++;
    console.log(`${holds ? "ok   " : "FAIL "} ${what}${holds || detail === "" ? "" : `\n      ${String(detail).slice(0, 1500)}`}`);
    return holds;
  }
  equal(what, found, wanted) {
    const a = JSON.stringify(found), b = JSON.stringify(wanted);
    return this.ok(what, a === b, `found ${a}\n      wanted ${b}`);
  }
  end() {
    console.log(`${this.passed} passed, ${this.failed} failed`);
    process.exit(this.failed ? 1 : 0);
  }
}
