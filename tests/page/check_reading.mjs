// Reading: without scripts, with hostile texts, and nothing asked of any network.
import { Checks, open, start } from "./browser.mjs";

const [folder] = process.argv.slice(2);
const checks = new Checks();
const browser = await start();

for (const name of ["plain", "schedule", "handover", "talk"]) {
  const { page, seen, context } = await open(browser, `${folder}/${name}.html`);
  checks.equal(`${name}: no request leaves the page`, seen.requests, []);
  checks.equal(`${name}: no complaint on the console`, seen.complaints, []);
  checks.equal(`${name}: one heading of the first level`, await page.locator("h1").count(), 1);
  await context.close();
}

{ // Without scripts every item, picture and question is there to read.
  const { page, context } = await open(browser, `${folder}/plain.html`, { javaScriptEnabled: false });
  const text = await page.locator("body").innerText();
  for (const [number, label] of ["K-001", "K-002", "K-003"].entries()) {
    checks.ok(`without scripts: ${label}`, text.includes(label));
    checks.ok(`without scripts: question ${number + 1}`, text.includes(`Question ${number + 1}: ${label}`));
  }
  checks.ok("without scripts: how to answer by e-mail", text.includes("Answering by e-mail") && text.includes("cannot tell"));
  checks.equal("without scripts: the pictures are in the page", await page.locator("figure img").count(), 3);
  checks.ok("without scripts: a picture has its size", (await page.locator("figure img").first().boundingBox()).height > 100);
  await context.close();
}

{ // Hostile texts are texts.
  const { page, seen, context } = await open(browser, `${folder}/hostile.html`);
  checks.equal("hostile: nothing ran", await page.evaluate(() => window.ran), undefined);
  checks.equal("hostile: no complaint", seen.complaints, []);
  checks.equal("hostile: no request", seen.requests, []);
  checks.equal("hostile: eleven items", await page.locator("section.item").count(), 11);
  const labels = await page.locator("section.item h2 bdi").allTextContents();
  const titles = await page.locator("section.item .title").allTextContents();
  checks.ok("hostile: labels read as they were typed", labels.includes("</script><script>window.ran=1</script>") &&
    labels.includes("<img src=x onerror=window.ran=2>") && labels.includes("W".repeat(400)), labels.join("\n"));
  checks.equal("hostile: titles too", [...titles].sort(), [...labels].sort());
  checks.equal("hostile: the title is its text", await page.title(), "</script><script>window.ran=1</script>");
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  checks.ok("hostile: long words do not push the page wide", wide <= 0, wide);
  checks.equal("hostile: every script is one of ours", await page.locator("script").count(), 2);
  await context.close();
}

{ // Private figures and storage places: in the schedule, which says so, and nowhere else.
  const { page, context } = await open(browser, `${folder}/schedule.html`);
  const text = await page.locator("body").innerText();
  checks.ok("schedule: says that it is private", text.includes("Private:"));
  checks.ok("schedule: adds up by currency", text.includes("3,703.68 XXX"), text);
  checks.ok("schedule: where things are kept", text.includes("Cabinet B"));
  await context.close();
  for (const name of ["plain", "talk", "handover"]) {
    const other = await open(browser, `${folder}/${name}.html`);
    checks.ok(`${name}: nothing private`, !(await other.page.content()).includes("Cabinet B"));
    await other.context.close();
  }
}

{ // A script that came from elsewhere does not run.
  const { page, context } = await open(browser, `${folder}/plain.html`);
  const ran = await page.evaluate(async () => {
    const script = document.createElement("script");
    script.textContent = "window.ran = 9";
    document.body.append(script);
    const asked = await fetch("https://example.invalid/").then(() => "asked", () => "refused");
    return [window.ran ?? null, asked];
  });
  checks.equal("the policy holds: no other script, no network", ran, [null, "refused"]);
  await context.close();
}

await browser.close();
checks.end();
