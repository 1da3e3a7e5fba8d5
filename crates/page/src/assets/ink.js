// Where both runners press on the ice at the cursor, as ink along them: the darker, the more load on a millimetre.
"use strict";

const Ink = (() => {
  const NS = "http://www.w3.org/2000/svg";
  const place = document.getElementById("ink");
  const words = document.getElementById("ink-words");
  const WIDTH = 460, ROW = 22, LEFT = 44;
  const MOST = 6;   // N/mm drawn full; more is as dark
  let busy = false;
  let wanted = null;

  const element = (name, attributes, text) => {
    const e = document.createElementNS(NS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (text !== undefined) e.textContent = text;
    return e;
  };

  function draw(c) {
    const half = c.tip_mm;
    const x = (mm) => LEFT + (WIDTH - LEFT - 8) * (mm + half) / (2 * half);
    const svg = element("svg", { viewBox: `0 0 ${WIDTH} ${2 * ROW + 28}`, role: "img", "aria-label": "Load along both runners" });
    const said = [];
    c.runners.forEach((r, j) => {
      const y = 3 + j * ROW;
      const side = j === 0 ? "left" : "right";
      svg.append(element("text", { x: 0, y: y + 12, class: "ink-side" }, side));
      svg.append(element("rect", { x: x(-half), y, width: x(half) - x(-half), height: ROW - 6, class: "rod", rx: 7 }));
      if (r === null) {
        said.push(`${side}: no contact`);
        return;
      }
      for (let i = 0; i + 1 < r.at_mm.length; i += 1) {
        const press = 0.5 * (r.press_n_mm[i] + r.press_n_mm[i + 1]);
        if (press <= 0.005) continue;
        const [a, b] = [x(r.at_mm[i]), x(r.at_mm[i + 1])];
        svg.append(element("rect", {
          x: Math.min(a, b), y, width: Math.abs(b - a) + 0.4, height: ROW - 6, class: "ink",
          "fill-opacity": Math.min(0.15 + 0.85 * press / MOST, 1).toFixed(2),
        }));
      }
      said.push(`${side} ${r.load_n} N over ${r.span_m} m, ${r.outside_percent} % outside the screws${r.bridges ? ": bridges" : ""}`);
    });
    const foot = 3 + 2 * ROW;
    for (const [mm, name] of [[-c.pin_mm, "pin"], [-c.screw_mm, "screw"], [c.groove_mm, "groove from here back"], [c.screw_mm, "screw"], [c.pin_mm, "pin"]]) {
      svg.append(element("line", { x1: x(mm), x2: x(mm), y1: 1, y2: foot - 3, class: "ink-mark" }));
      svg.append(element("text", { x: x(mm), y: foot + (name.startsWith("groove") ? 20 : 7), class: "ink-name" }, name));
    }
    svg.append(element("text", { x: LEFT, y: foot + 20, class: "ink-name begin" }, "\u2190 rear"));
    svg.append(element("text", { x: WIDTH - 2, y: foot + 20, class: "ink-name end" }, "front \u2192"));
    place.replaceChildren(svg);
    words.textContent = ` ${said.join("; ")}`;
  }

  async function next() {
    if (busy || wanted === null) return;
    busy = true;
    const body = JSON.stringify(wanted);
    wanted = null;
    try {
      const response = await fetch("/api/contact", { method: "POST", headers: { "content-type": "application/json" }, body });
      const told = await response.json();
      if (response.ok && told !== null) draw(told);
      place.classList.toggle("stale", told === null);
    } catch {
      // the next answer tells that the program is gone
      place.classList.add("stale");
    }
    busy = false;
    next();
  }

  return {
    at: (here, station) => {
      wanted = { here, station_m: station };
      next();
    },
  };
})();
