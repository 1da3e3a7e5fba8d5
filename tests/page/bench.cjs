// The sled bench in a real browser, network off: moves sliders, reads numbers, writes them to standard output as JSON.
// Arguments: address of the page, folder for pictures and files. `playwright-core` is found by NODE_PATH.
"use strict";

const fs = require("node:fs");
const path = require("node:path");
const { chromium } = require("playwright-core");
const { look, tabbed } = require("./seen.cjs");

const [address, folder] = process.argv.slice(2);
const FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
  "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"];
const MOVES = Number(process.env.PAGE_MOVES ?? 100);
const PATIENCE = { timeout: 90000 };

// a short evening: two bows, few rides
const EVENING = ["bows_mm = [2.5, 3]", "skill = \"club\"", "rides = 10", "seed = 1", "hours = 1",
  "[ice]", "temperature_c = -6", "[air]", "temperature_c = -4", "humidity_percent = 80", ""].join("\n");

async function main() {
  const profile = fs.mkdtempSync(path.join(folder, "profile-"));
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: FLAGS,
    viewport: { width: 1280, height: 720 }, acceptDownloads: true,
  });
  // drawing in space without a graphics card beside other work takes long
  context.setDefaultTimeout(PATIENCE.timeout);
  const page = context.pages()[0] ?? await context.newPage();
  const told = { errors: [], outside: [], failed: [] };
  const watch = (p) => {
    p.on("console", (m) => { if (m.type() === "error") told.errors.push(m.text()); });
    p.on("pageerror", (e) => told.errors.push(String(e)));
    p.on("request", (r) => {
      if (!r.url().startsWith(address) && !/^(data|blob):/.test(r.url())) told.outside.push(r.url());
    });
    p.on("dialog", (d) => { told.errors.push(`dialog: ${d.message()}`); d.dismiss(); });
  };
  watch(page);
  context.on("page", watch);

  const text = (id) => page.locator(`#${id}`).innerText();
  const state = (wanted, number) => page.waitForFunction(
    ([s, n]) => document.body.dataset.state === s && Number(document.body.dataset.number) >= n, [wanted, number], PATIENCE);
  const number = async () => Number(await page.evaluate(() => document.body.dataset.number ?? 0));
  const put = (key, value) => page.evaluate(([k, v]) => {
    const range = document.querySelector(`.control[data-key="${k}"] input[type=range]`);
    range.value = v;
    range.dispatchEvent(new Event("input", { bubbles: true }));
  }, [key, value]);
  const cells = (id) => page.locator(`#${id} tbody tr`).evaluateAll(
    (rows) => rows.map((r) => [...r.cells].map((c) => c.textContent)));
  const numbers = async () => ({
    finish: await text("finish"), how: await text("how"), difference: await text("difference"),
    verdict: await text("verdict"), band: await text("band"), lost: await text("lost"), causes: await text("causes"),
    splits: await cells("splits"), corners: await cells("corners"), ensemble: await cells("ensemble"), loads: await cells("loads"),
  });
  // a file dragged onto a place, as a hand drags it from a folder
  const drag = async (id, file) => {
    const box = await page.locator(`#${id}`).boundingBox();
    const [x, y] = [box.x + box.width / 2, box.y + Math.min(box.height, 600) / 2];
    const session = await context.newCDPSession(page);
    for (const type of ["dragEnter", "dragOver", "drop"]) {
      await session.send("Input.dispatchDragEvent", { type, x, y, data: { items: [], files: [file], dragOperationsMask: 1 } });
    }
    await session.detach();
  };
  const shot = (name) => page.screenshot({ path: path.join(folder, `${name}.png`) });
  const saved = async (button, name) => {
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator(`#${button}`).click()]);
    await download.saveAs(path.join(folder, name));
  };

  const begun = Date.now();
  await page.goto(address, { waitUntil: "domcontentloaded" });
  told.first_paint_ms = await page.evaluate(() => new Promise((done) => {
    const seen = () => performance.getEntriesByName("first-contentful-paint")[0];
    const look = () => seen() ? done(Math.round(seen().startTime)) : requestAnimationFrame(look);
    look();
  }));
  // a field that is changed before the page has begun asks nothing
  await page.waitForFunction(() => Number(document.body.dataset.number) >= 1, null, PATIENCE);
  await page.locator("#rides").fill(process.env.PAGE_RIDES ?? "12");
  await state("full", 2);
  told.first_full_ms = Date.now() - begun;
  told.first = await numbers();
  await shot("1280-first");

  // a slider moved once: rough at once, then the full answer visibly in its place
  await put("runners.bow_mm", 2.5);
  await page.waitForFunction(() => document.body.dataset.state === "rough", null, PATIENCE);
  told.rough = { finish: await text("finish"), mark: await page.locator("#rough").isVisible(), how: await text("how") };
  await shot("1280-rough");
  await state("full", await number());
  told.rough.mark_after = await page.locator("#rough").isVisible();
  told.colour = await page.evaluate(() => document.getElementById("curves").data[1].line.color);
  told.moved = await numbers();
  await shot("1280-moved");

  // one cursor through all charts and the plan
  const box = await page.locator("#curves").boundingBox();
  const cursor = async (share) => {
    await page.mouse.move(box.x + share * box.width, box.y + 0.5 * box.height);
    return page.evaluate(() => ({
      station: Number(document.getElementById("at").dataset.station),
      words: document.getElementById("at").textContent,
      line: document.querySelector(".cursor-line").style.left,
      dot: document.querySelector(".dot").getAttribute("cx") + " " + document.querySelector(".dot").getAttribute("cy"),
      values: [...document.querySelectorAll(".cursor-value")].map((v) => v.textContent),
    }));
  };
  told.cursor = [await cursor(0.4), await cursor(0.6)];
  await page.waitForFunction(() => document.querySelectorAll("#ink .ink").length > 0, null, PATIENCE);
  told.ink = await text("ink-words");
  await page.locator("#curves").focus();
  await page.keyboard.press("ArrowRight");
  told.by_key = await page.evaluate(() => Number(document.getElementById("at").dataset.station));
  // zoomed by dragging: all strips share the axis
  await page.mouse.move(box.x + 0.3 * box.width, box.y + 0.5 * box.height);
  await page.mouse.down();
  await page.mouse.move(box.x + 0.6 * box.width, box.y + 0.5 * box.height, { steps: 4 });
  await page.mouse.up();
  told.zoom = await page.evaluate(() => document.getElementById("curves")._fullLayout.xaxis.range);
  await page.mouse.dblclick(box.x + 0.5 * box.width, box.y + 0.5 * box.height);

  // the other views
  await page.locator("nav button[data-view=lost]").click();
  told.sections = await page.locator("#sections tr").evaluateAll((rows) => rows.map((r) => [...r.cells].map((c) => c.textContent)));
  await shot("1280-lost");
  await page.locator("nav button[data-view=ice]").click();
  await page.waitForFunction(() => document.getElementById("ice-note").textContent !== "", null, PATIENCE);
  told.ice = await text("ice-note");
  await page.evaluate(() => new Promise((done) => { setTimeout(done, 1500); }));
  await shot("1280-ice");
  // a line told by dragging: the highest point of corner 6 a little lower, and what came of it
  const show = (view) => page.locator(`nav button[data-view=${view}]`).click();
  const answered = (view, key, count) => page.waitForFunction(
    ([v, k, n]) => Number(document.getElementById(v).dataset[k] ?? 0) >= n, [view, key, count], { timeout: 180000 });
  await show("line");
  await page.locator("#line-corner").selectOption("6");
  const handle = page.locator(".handle[data-position=highest][data-kind=height]");
  await page.waitForFunction(() => document.querySelectorAll(".handle").length === 6 && document.getElementById("line-aims").textContent.includes("6, highest"), null, PATIENCE);
  const held = await handle.boundingBox();
  const [hx, hy] = [held.x + held.width / 2, held.y + held.height / 2];
  await page.mouse.move(hx, hy);
  await page.mouse.down();
  await page.mouse.move(hx, hy + 9, { steps: 4 });
  await page.mouse.up();
  await answered("line-view", "answered", 1);
  await saved("line-save", "line.csv");
  told.line = {
    verdict: await text("line-verdict"), met: await text("line-met"), doing: await text("line-doing"),
    losses: await page.locator("#line-losses tr").evaluateAll((rows) => rows.map((r) => [...r.cells].map((c) => c.textContent))),
    corners: await cells("line-corners"),
  };
  await shot("1280-line");
  // typed beyond the ice: refused with its reason
  await page.locator("input[data-field='entry offset']").fill("3.5");
  await page.locator("input[data-field='entry offset']").press("Enter");
  await answered("line-view", "answered", 2);
  told.line.refused = await text("line-met");
  await shot("1280-line-refused");
  await page.locator("#line-clear").click();
  await page.locator("#line-what-if").fill("2 m late into corner 6");
  await page.locator("#line-say").click();
  await answered("line-view", "answered", 3);
  told.line.what_if = [await text("line-verdict"), await text("line-met"), await text("line-words")];

  // a timing sheet fitted; then without the run that is out of line
  await show("evidence");
  await page.locator("#sheet-open").setInputFiles(path.join(__dirname, "quillmere-sheet.csv"));
  await answered("evidence-view", "fitted", 1);
  const tables = (id) => page.locator(`#${id} table`).evaluateAll(
    (all) => all.map((t) => [...t.rows].map((r) => [...r.cells].map((c) => c.textContent))));
  const fitted = async () => ({
    verdict: await text("sheet-verdict"), together: await text("sheet-together"), flags: await text("sheet-flags"), tables: await tables("sheet-parts"),
    words: await page.locator("#sheet-parts p").allTextContents(), flagged: await page.locator(".run.flagged").allTextContents(),
    bands: await page.evaluate(() => document.getElementById("sheet-predicted").data[1].y.length),
  });
  told.sheet = await fitted();
  await shot("1280-evidence");
  await page.locator(".run input").nth(2).uncheck();
  await answered("evidence-view", "fitted", 2);
  told.sheet_without = await fitted();
  // the edge radius with the rest; the level of those who rode, chosen while that is being fitted
  await page.locator("#sheet-what").selectOption("friction,drag,edge");
  await page.locator("#sheet-skill").selectOption("national");
  await answered("evidence-view", "fitted", 4);
  told.sheet_skilled = await fitted();
  await page.locator("#sheet-text").fill("run,finish\n1,abc\n");
  await page.locator("#sheet-fit").click();
  await answered("evidence-view", "fitted", 5);
  told.sheet_faults = await text("sheet-doing");
  // two set-ups told apart by their runs: a sheet dragged in, then with what was believed before; then a team's
  const root = path.join(__dirname, "..", "..");
  const test = async () => ({
    answer: `${await text("tested-answer")} ${await text("tested-verdict")}`, names: await text("tested-names"), tables: await tables("tested-parts"),
    words: await page.locator("#tested-parts p").allTextContents(), doing: await text("tested-doing"),
    drawn: await page.evaluate(() => [document.getElementById("tested-bands").data.length, document.getElementById("tested-runs").data.map((t) => t.y)]),
  });
  await page.locator("#evidence-view button[data-part=tested]").click();
  await answered("evidence-view", "analysed", 1);
  told.test_fault = await text("tested-doing");
  await drag("evidence-view", path.join(root, "examples/timing-sheet.csv"));
  await answered("evidence-view", "analysed", 2);
  told.test = await test();
  await page.locator("#tested-prior").fill("-0.05");
  await page.locator("#tested-prior-sd").fill("0.1");
  await page.waitForFunction(() => document.getElementById("tested-answer").textContent.includes("believed before"), null, PATIENCE);
  told.test_believed = await test();
  await shot("1280-tested");
  await page.locator("#tested-prior").fill("");
  await page.locator("#tested-prior-sd").fill("");
  await page.locator("#sheet-open").setInputFiles(path.join(root, "examples/team-sheet.csv"));
  await page.waitForFunction(() => document.getElementById("tested-doing").textContent.includes("3 athletes"), null, PATIENCE);
  told.test_whose = await text("tested-doing");
  await page.locator("#tested-athlete").selectOption("R");
  await page.waitForFunction(() => document.getElementById("tested-names").textContent.includes("3.5 mm, 3 runs"), null, PATIENCE);
  told.test_of_one = await test();
  // a test before its runs
  await page.locator("#evidence-view button[data-part=trial]").click();
  await answered("evidence-view", "planned", 1);
  const trial = async () => ({
    advice: await text("trial-advice"), head: await text("trial-head"), tables: await tables("trial-parts"), words: await page.locator("#trial-parts p").allTextContents(),
  });
  told.trial = await trial();
  await shot("1280-trial");
  await page.locator("#trial-runs").fill("40");
  await answered("evidence-view", "planned", 2);
  told.trial_more = await trial();

  // a track of one's own: two files dropped, a corner list typed with a fault
  await page.locator("nav button[data-view=track]").click();
  const head = (part) => page.waitForFunction((p) => document.getElementById("track-head").textContent.includes(p), part, PATIENCE);
  await page.locator("#track-open").setInputFiles(["track.toml", "stations.csv"].map((f) => path.join(root, "tracks/oskerdale", f)));
  await head("Oskerdale");
  told.track = { head: await text("track-head"), corners: await cells("track-corners") };
  const alone = async (count) => {
    await answered("track-view", "alone", count);
    return { doing: await text("track-alone-doing"), warnings: await page.locator("#track-warnings li").allTextContents() };
  };
  told.track.alone = [await alone(1)];
  await page.locator("#track-open").setInputFiles(path.join(root, "tracks/quillmere/corner_list.toml"));
  await head("Quillmere");
  told.track.edited = await text("track-head");
  told.track.alone.push(await alone(2));
  await shot("1280-track");
  told.track.speeds = await tables("track-speed-table");
  // edited in place: a cell of the table is the value in the text, and its fault marks it
  const radius = page.locator("#track-grid input[data-key=radius_m]").first();
  await radius.fill("-45");
  await radius.press("Tab");
  await head("fault");
  told.track.faults = await text("track-faults");
  told.track.marked = await page.locator("#track-grid .faulty").evaluateAll((f) => f.map((x) => x.value));
  await page.locator("#track-faults li").click();
  told.track.at = await page.evaluate(() => {
    const t = document.getElementById("track-text");
    return t.value.slice(t.selectionStart, t.selectionEnd);
  });
  const list = await page.locator("#track-text").inputValue();
  await page.locator("#track-text").fill(list.replace("radius_m = -45", "radius_m = 60"));
  await head("Quillmere");
  await page.locator("#track-view button[data-edit=table]").click();
  const checked = await page.evaluate(() => Number(document.getElementById("track-view").dataset.checked));
  await page.locator("#track-take").click();
  await answered("track-view", "checked", checked + 1);
  told.track.taken = await tables("track-speed-table");
  await saved("track-save", "corner_list.toml");

  // the caliper: read as it is typed
  await page.locator("nav button[data-view=evening]").click();
  await page.locator("#evening-readings").fill(fs.readFileSync(path.join(root, "examples/readings.csv"), "utf8"));
  await page.locator("#evening-without").fill(fs.readFileSync(path.join(root, "examples/readings-without-bow.csv"), "utf8"));
  await page.waitForFunction(() => document.getElementById("evening-told").textContent.includes("readings without bow"), null, PATIENCE);
  await page.waitForFunction(() => document.getElementById("evening-bow").naturalWidth > 0, null, PATIENCE);
  told.caliper = await page.locator("#evening-told").textContent();
  await shot("1280-evening");
  // the sheet of a short evening, asked for, opened and printed
  await page.locator("#evening-plan").fill(EVENING);
  await page.locator("#evening-ask").click();
  await page.waitForFunction(() => !document.getElementById("evening-ask").disabled && !document.getElementById("evening-print").disabled, null, { timeout: 400000 });
  told.evening = { plan: EVENING, doing: await text("evening-doing"), report: await page.locator("#evening-told").textContent() };
  await shot("1280-evening-sheet");
  const [sheet] = await Promise.all([context.waitForEvent("page"), page.locator("#evening-print").click()]);
  await sheet.waitForLoadState();
  fs.writeFileSync(path.join(folder, "sheet.html"), await (await sheet.request.get(sheet.url())).text());
  await sheet.pdf({ path: path.join(folder, "sheet.pdf"), preferCSSPageSize: true });
  await sheet.close();
  await page.locator("nav button[data-view=bench]").click();

  await saved("save", "saved.toml");
  await saved("csv", "trace.csv");
  await saved("png", "charts.png");

  // a pair of the library put on, and taken off
  await page.locator("#pair-open").setInputFiles(path.join(root, "examples/runners.toml"));
  await page.waitForFunction(() => document.getElementById("pair").options.length > 2, null, PATIENCE);
  // what was asked before may still be on its way
  const settled = (beyond) => page.waitForFunction((n) => {
    const is = document.body.dataset;
    return Number(is.asked) > n && is.state === "full" && is.number === is.asked;
  }, beyond, PATIENCE);
  await settled(0);
  const before = Number(await page.evaluate(() => document.body.dataset.asked));
  await page.locator("#pair").selectOption("B");
  await settled(before);
  told.pair = { finish: await text("finish"), words: await text("pair-words"), roughness: await page.locator("#f-runners\\.roughness_um").inputValue() };
  await shot("1280-pair");
  await page.locator("#pair").selectOption("");
  await page.waitForFunction((was) => document.getElementById("finish").textContent === was, told.moved.finish, PATIENCE);

  // many moves: from the hand to the redrawn charts
  told.moves_ms = await page.evaluate(async (moves) => {
    const range = document.querySelector('.control[data-key="sled.ballast_kg"] input[type=range]');
    const spent = [];
    for (let i = 0; i < moves; i += 1) {
      const from = performance.now();
      const before = Number(document.body.dataset.number);
      range.value = 2 + 0.5 * (i % 12);
      range.dispatchEvent(new Event("input", { bubbles: true }));
      await new Promise((done) => {
        const look = () => Number(document.body.dataset.number) > before ? done() : setTimeout(look, 1);
        look();
      });
      spent.push(Math.round(performance.now() - from));
    }
    return spent;
  }, MOVES);
  told.errors_before_faults = [...told.errors];

  // faults: a sentence each, nothing else
  await page.locator("#open").setInputFiles({ name: "bad.toml", mimeType: "text/plain", buffer: Buffer.from("[runners]\nbow_mm = 99\n") });
  await page.locator("#trouble").waitFor({ state: "visible" });
  told.fault_of_file = await text("trouble");
  await page.locator("#f-sled\\.ballast_kg").fill("999");
  told.fault_of_field = await text("trouble");
  await page.locator("#f-sled\\.ballast_kg").fill("1.5");
  await show("evidence");
  await page.locator("#trial-spread").fill("99");
  await answered("evidence-view", "planned", 3);
  told.trial_fault = await text("trial-advice");
  await page.locator("#trial-spread").fill("0.165");
  await answered("evidence-view", "planned", 4);
  await state("full", await number());
  told.colour_again = await page.evaluate(() => document.getElementById("curves").data[1].line.color);

  // every view: what cannot be read or reached, and a picture; in grey at the end
  told.seen = {};
  const VIEWS = ["bench", "lost", "line", "ice", "evidence", "evening", "track"];
  const rest = (ms) => page.evaluate((t) => new Promise((done) => { setTimeout(done, t); }), ms);
  for (const [width, height, name] of [[1280, 720, "1280"], [820, 1180, "820"], [1024, 768, "1024"], [768, 1024, "768"]]) {
    await page.setViewportSize({ width, height });
    await rest(300);
    for (const view of VIEWS) {
      await show(view);
      await rest(400);
      for (const part of view === "evidence" ? ["trial", "tested", "sheet"] : [""]) {
        if (part !== "") await page.locator(`#evidence-view button[data-part=${part}]`).click();
        const called = part === "" ? view : part;
        if (part !== "") await rest(900);
        told.seen[`${name} ${called}`] = await page.evaluate(look);
        if (name === "1280") told.seen[`${name} ${called}`].tab = await tabbed(page);
        await page.mouse.move(2, 2);
        await page.screenshot({ path: path.join(folder, `${name}-all-${called}.png`), fullPage: name !== "1280" });
      }
    }
  }
  await page.setViewportSize({ width: 1280, height: 720 });
  await page.addStyleTag({ content: "html { filter: grayscale(1); }" }).catch(() => null);
  for (const view of VIEWS) {
    await show(view);
    await rest(400);
    await shot(`grey-${view}`);
  }
  await context.close();
  fs.rmSync(profile, { recursive: true, force: true });
  process.stdout.write(JSON.stringify(told));
}

main().catch((why) => {
  process.stderr.write(`${why.stack}\n`);
  process.exit(1);
});
