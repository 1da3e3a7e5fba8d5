// What of a view cannot be read or reached: texts with too little contrast, cut off or over one another, controls
// without a name, focus that is not seen. Each gives a list of sentences; an empty one is what is wanted.
"use strict";

// runs in the browser
function look() {
  const found = { contrast: [], cut: [], overlap: [], unnamed: [], beside: [] };
  const colour = (text) => {
    const n = text.match(/[\d.]+/g).map(Number);
    return { rgb: n.slice(0, 3), a: n.length > 3 ? n[3] : 1 };
  };
  const over = (top, a, below) => top.map((v, i) => a * v + (1 - a) * below[i]);
  const light = (rgb) => {
    const [r, g, b] = rgb.map((v) => (v / 255 <= 0.03928 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const way = (e) => (e ? [...way(e.parentElement), e] : []);
  // what lies behind a text, from the page up; opacity of a whole part is told apart
  const behind = (e) => way(e).reduce((below, p) => {
    const b = colour(getComputedStyle(p).backgroundColor);
    return over(b.rgb, b.a, below);
  }, [255, 255, 255]);
  const shown = (e) => {
    if (!e.checkVisibility({ visibilityProperty: true })) return false;
    const r = e.getBoundingClientRect();
    return r.width > 1 && r.height > 1;
  };
  // the part of an element that is seen: what scrolls or is cut around it takes the rest away
  const seen = (r, e) => {
    let [l, t, x, y] = [r.left, r.top, r.right, r.bottom];
    for (let p = e; p; p = p.parentElement) {
      if (p === document.body) break;
      if (getComputedStyle(p).overflow === "visible") continue;
      const b = p.getBoundingClientRect();
      [l, t, x, y] = [Math.max(l, b.left), Math.max(t, b.top), Math.min(x, b.right), Math.min(y, b.bottom)];
    }
    return { l, t, x, y };
  };
  const words = (e) => e.textContent.trim().replace(/\s+/g, " ").slice(0, 60);
  const name = (e) => `${e.tagName.toLowerCase()}${e.id ? `#${e.id}` : ""}`;

  // what stays while the rest scrolls beneath it, and hides that
  const lies = (e) => way(e).find((p) => getComputedStyle(p).position === "sticky");

  const boxes = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = texts.nextNode(); node; node = texts.nextNode()) {
    const e = node.parentElement;
    if (node.textContent.trim() === "" || ["SCRIPT", "STYLE", "OPTION", "TITLE", "TEXTAREA"].includes(e.tagName) || !shown(e)) continue;
    const svg = e.closest("svg") !== null;
    const style = getComputedStyle(e);
    const off = e.closest(":disabled") !== null;
    const c = colour(svg ? style.fill : style.color);
    const opacity = way(e).reduce((o, p) => o * Number(getComputedStyle(p).opacity), 1);
    const below = behind(e);
    if (!off && opacity > 0.05) {
      const is = ratio(over(c.rgb, c.a * opacity, below), below);
      if (is < 4.5) found.contrast.push(`${is.toFixed(2)}: ${words(e)}`);
    }
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const r of range.getClientRects()) {
      if (r.width < 2 || r.height < 2) continue;
      const s = seen(r, e);
      if (s.x - s.l < 2 || s.y - s.t < 2) continue;
      boxes.push({ ...s, e, text: node.textContent.trim().slice(0, 40) });
    }
    // cut off, with no way to come to the rest
    if (!svg) {
      for (let p = e; p && p !== document.body; p = p.parentElement) {
        const s = getComputedStyle(p);
        if (s.overflowX === "auto" || s.overflowX === "scroll" || s.overflowY === "auto") break;
        if (s.overflowX !== "hidden") continue;
        const b = p.getBoundingClientRect();
        const r = range.getBoundingClientRect();
        if (r.right > b.right + 1.5 || r.bottom > b.bottom + 1.5 || r.left < b.left - 1.5) found.cut.push(`${name(p)} cuts: ${words(e)}`);
      }
    }
  }
  for (let i = 0; i < boxes.length; i += 1) {
    for (let j = i + 1; j < boxes.length; j += 1) {
      const [a, b] = [boxes[i], boxes[j]];
      if (a.e === b.e) continue;
      const [w, h] = [Math.min(a.x, b.x) - Math.max(a.l, b.l), Math.min(a.y, b.y) - Math.max(a.t, b.t)];
      if (w > 2 && h > 4 && lies(a.e) === lies(b.e)) found.overlap.push(`"${a.text}" over "${b.text}"`);
    }
  }
  // a figure drawn for another width
  for (const e of document.querySelectorAll(".js-plotly-plot")) {
    const wide = e.querySelector(".main-svg")?.getBoundingClientRect().width ?? 0;
    if (shown(e) && wide > e.clientWidth + 2) found.cut.push(`${name(e)} is ${wide} px wide in ${e.clientWidth}`);
  }
  // a control over words that are not its own
  for (const e of document.querySelectorAll("button, .button, select, textarea, input:not([type=file]):not([type=range])")) {
    if (!shown(e)) continue;
    const s = seen(e.getBoundingClientRect(), e);
    for (const b of boxes) {
      const [w, h] = [Math.min(s.x, b.x) - Math.max(s.l, b.l), Math.min(s.y, b.y) - Math.max(s.t, b.t)];
      if (w > 3 && h > 4 && !e.contains(b.e) && lies(e) === lies(b.e)) found.overlap.push(`${name(e)} over "${b.text}"`);
    }
  }
  for (const e of document.querySelectorAll("button, input, select, textarea, a[href], [tabindex], [role=slider]")) {
    if (!e.checkVisibility({ visibilityProperty: true })) continue;
    const label = e.getAttribute("aria-label") ?? (e.labels && e.labels.length > 0 ? [...e.labels].map((l) => l.textContent).join(" ") : e.textContent);
    if ((label ?? "").trim() === "") found.unnamed.push(name(e));
  }
  if (document.documentElement.scrollWidth > innerWidth + 1) found.beside.push(`${document.documentElement.scrollWidth} px of page in ${innerWidth}`);
  return found;
}

// goes through a view by the tab key: how many controls it came to, which were left out, which showed no focus
async function tabbed(page) {
  const wanted = await page.evaluate(() => {
    document.activeElement?.blur();
    scrollTo(0, 0);
    const all = [...document.querySelectorAll("button, input, select, textarea, a[href], [tabindex='0']")]
      .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.disabled && e.tabIndex >= 0);
    all.forEach((e, i) => { e.dataset.tab = String(i); });
    return all.length;
  });
  const reached = new Set();
  const unseen = [];
  // the keyboard, not the script, brings the focus there
  await page.evaluate(() => document.querySelector("nav button").focus());
  await page.keyboard.press("Tab");
  await page.keyboard.press("Shift+Tab");
  for (let k = 0; k < wanted + 12; k += 1) {
    const at = await page.evaluate(() => {
      const e = document.activeElement;
      if (!e || e === document.body) return null;
      const ring = (x) => x && getComputedStyle(x).outlineStyle !== "none" && parseFloat(getComputedStyle(x).outlineWidth) >= 1;
      return { tab: e.dataset.tab, name: `${e.tagName.toLowerCase()}#${e.id}`, ring: ring(e) || ring(e.closest(".button")) };
    });
    if (at && at.tab !== undefined) {
      if (!at.ring && !reached.has(at.tab)) unseen.push(at.name);
      reached.add(at.tab);
    }
    await page.keyboard.press("Tab");
  }
  const missed = await page.evaluate((r) => [...document.querySelectorAll("[data-tab]")].filter((e) => !r.includes(e.dataset.tab))
    .map((e) => `${e.tagName.toLowerCase()}#${e.id} ${e.textContent.trim().slice(0, 30)}`), [...reached]);
  await page.evaluate(() => { for (const e of document.querySelectorAll("[data-tab]")) delete e.dataset.tab; });
  return { wanted, reached: reached.size, missed, unseen };
}

module.exports = { look, tabbed };
