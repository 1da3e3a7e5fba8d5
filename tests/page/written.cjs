// Written pages on a phone's screen, network off: what is seen, whether the cursor is alive, who was asked.
// Arguments: folder for pictures, then the files. Writes JSON to standard output.
"use strict";

const path = require("node:path");
const { pathToFileURL } = require("node:url");
const { chromium } = require("playwright-core");
const { look } = require("./seen.cjs");

const [folder, ...files] = process.argv.slice(2);

async function main() {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--headless", "--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP * ~NOTFOUND"],
  });
  const all = [];
  for (const file of files) {
    const page = await browser.newPage({ viewport: { width: 390, height: 844 } });
    const told = { errors: [], outside: [] };
    const own = pathToFileURL(path.resolve(file)).href;
    page.on("console", (m) => { if (m.type() === "error") told.errors.push(m.text()); });
    page.on("pageerror", (e) => told.errors.push(String(e)));
    page.on("request", (r) => { if (r.url() !== own && !/^(data|blob):/.test(r.url())) told.outside.push(r.url()); });
    await page.goto(own);
    await page.waitForFunction(() => document.body.dataset.state === "full", null, { timeout: 60000 });
    const box = await page.locator("#curves").boundingBox();
    const at = async (share) => {
      await page.locator("#curves").hover({ position: { x: share * box.width, y: 0.5 * box.height } });
      return page.locator("#at").innerText();
    };
    told.cursor = [await at(0.4), await at(0.7)];
    told.finish = await page.locator("#finish").innerText();
    told.median = await page.locator("#ensemble tbody tr").evaluateAll((rows) => rows.map((r) => r.cells[2].textContent));
    told.report = await page.locator("#written-evening pre").allTextContents();
    told.seen = await page.evaluate(look);
    await page.screenshot({ path: path.join(folder, `phone-${path.basename(file, ".html")}.png`), fullPage: true });
    all.push(told);
    await page.close();
  }
  await browser.close();
  process.stdout.write(JSON.stringify(all));
}

main().catch((why) => {
  process.stderr.write(`${why.stack}\n`);
  process.exit(1);
});
