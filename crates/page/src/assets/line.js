// A line told by hand: dots on the ice laid flat are dragged, the server plans the ride through them, and the answer
// stands beside what was asked. Nothing is reckoned here but places on the screen.
"use strict";

const Line = (() => {
  const NS = "http://www.w3.org/2000/svg";
  const part = (id) => document.getElementById(id);
  const place = part("line-flat");
  const choice = part("line-corner");
  const WIDTH = 600, FLAT = 134, BANK = 104, GAP = 50, LEFT = 40, RIGHT = 10, HEAD = 15;
  const HIGH = { flat: [HEAD, HEAD + FLAT], bank: [HEAD + FLAT + 22, HEAD + FLAT + 22 + BANK], gap: [HEAD + FLAT + BANK + 44, HEAD + FLAT + BANK + 44 + GAP] };
  const BAND_M = 0.1;
  const aims = new Map();      // "corner|position" -> { corner, position, kind, value, band }
  let track = null, asked = null, riding = true, visible = false;
  let ground = null;           // the ice of the corner and the lines on it
  let told = null;             // the newest answer to a line
  let met = new Map();         // what came of each aim
  let busy = false, waiting = false, rest = null, begun = 0;

  const element = (name, attributes, words) => {
    const e = document.createElementNS(NS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (words !== undefined) e.textContent = words;
    return e;
  };

  // straight lines between points; x rises
  function between(xs, ys, at) {
    if (at <= xs[0]) return ys[0];
    for (let i = 1; i < xs.length; i += 1) {
      if (at <= xs[i]) return ys[i - 1] + (ys[i] - ys[i - 1]) * (at - xs[i - 1]) / ((xs[i] - xs[i - 1]) || 1);
    }
    return ys[ys.length - 1];
  }

  // the offset on the high side where the ice has a height
  function offsetAt(h, height) {
    const outer = ground.hand === "left" ? h.across_m.map((_, i) => i) : h.across_m.map((_, i) => h.across_m.length - 1 - i);
    for (let k = 1; k < outer.length; k += 1) {
      const [a, b] = [outer[k - 1], outer[k]];
      const [ha, hb] = [h.heights_m[a], h.heights_m[b]];
      if ((ha >= height && height >= hb) || hb >= ha) {
        if (hb >= ha) return h.across_m[b];
        return h.across_m[a] + (h.across_m[b] - h.across_m[a]) * (ha - height) / (ha - hb);
      }
    }
    return h.across_m[outer[0]];
  }

  const key = (corner, position) => `${corner}|${position}`;
  // where a dot stands: as told, or as planned
  function dot(h) {
    const aim = aims.get(key(ground.corner, h.position));
    if (!aim) return [h.offset_m, h.height_m];
    return aim.kind === "offset" ? [aim.value, between(h.across_m, h.heights_m, aim.value)] : [offsetAt(h, aim.value), aim.value];
  }

  let scale = null;
  function scales() {
    const s = ground.station_m;
    const [first, last] = [s[0], s[s.length - 1]];
    const [low, high] = [Math.min(...ground.right_m), Math.max(...ground.left_m)];
    // heights to a little above all that is ridden or told
    const lines = [ground.here, ground.pinned].filter((l) => l).flatMap((l) => l.height_m);
    const top = Math.max(1, ...lines, ...ground.handles.map((h) => dot(h)[1])) * 1.15;
    const flat = (lowest, highest, [y0, y1]) => ({
      to: (v) => y1 - (v - lowest) / (highest - lowest) * (y1 - y0), from: (y) => lowest + (y1 - y) / (y1 - y0) * (highest - lowest),
    });
    scale = {
      x: (v) => LEFT + (WIDTH - LEFT - RIGHT) * (v - first) / (last - first),
      inside: (v) => v >= first && v <= last,
      flat: flat(low, high, HIGH.flat), bank: flat(0, top, HIGH.bank), top,
    };
  }

  const points = (xs, ys, to) => xs.map((x, i) => [x, ys[i]]).filter(([x, y]) => scale.inside(x) && y !== null)
    .map(([x, y]) => `${scale.x(x).toFixed(1)},${to(y).toFixed(1)}`).join(" ");

  function axis(svg, name, [y0, y1], values, to, digits) {
    svg.append(element("text", { x: LEFT, y: y0 - 4, class: "strip-name" }, name));
    for (const v of values) {
      const y = to(v);
      if (y < y0 - 0.5 || y > y1 + 0.5) continue;
      svg.append(element("line", { x1: LEFT, x2: WIDTH - RIGHT, y1: y, y2: y, class: "rule" }));
      svg.append(element("text", { x: LEFT - 4, y: y + 3, class: "tick-name" }, v.toFixed(digits).replace("-", "−")));
    }
  }

  const ticks = (low, high, step) => {
    const list = [];
    for (let v = Math.ceil(low / step - 1e-9) * step; v <= high + 1e-9; v += step) list.push(v);
    return list;
  };

  function draw() {
    if (ground === null) return;
    scales();
    const svg = element("svg", { viewBox: `0 0 ${WIDTH} ${HIGH.gap[1] + 16}`, role: "group", "aria-label": "The ice of the corner laid flat, and the height on its bank" });
    const [ex, ox] = [scale.x(ground.entry_m), scale.x(ground.exit_m)];
    const [low, high] = [scale.flat.from(HIGH.flat[1]), scale.flat.from(HIGH.flat[0])];
    const ice = ground.station_m.map((s, i) => `${scale.x(s).toFixed(1)},${scale.flat.to(ground.left_m[i]).toFixed(1)}`)
      .concat(ground.station_m.map((s, i) => `${scale.x(s).toFixed(1)},${scale.flat.to(ground.right_m[i]).toFixed(1)}`).reverse());
    svg.append(element("polygon", { points: ice.join(" "), class: "flat-ice" }));
    for (const [y0, y1] of Object.values(HIGH)) svg.append(element("rect", { x: ex, y: y0, width: ox - ex, height: y1 - y0, class: "profile-band" }));
    axis(svg, `across the ice, m from the reference line (outer side ${ground.hand === "left" ? "below" : "above"})`, HIGH.flat, ticks(low, high, 1), scale.flat.to, 0);
    axis(svg, "height on the bank, m", HIGH.bank, ticks(0, scale.top, scale.top > 2.5 ? 1 : 0.5), scale.bank.to, scale.top > 2.5 ? 0 : 1);
    for (const [line, name] of [[ground.pinned, "way-pinned"], [ground.here, "way-planned"], [told && told.line, "way-told"]]) {
      if (!line) continue;
      svg.append(element("polyline", { points: points(line.station_m, line.offset_m, scale.flat.to), class: name }));
      svg.append(element("polyline", { points: points(line.station_m, line.height_m, scale.bank.to), class: name }));
    }
    gap(svg);
    for (const [s, words] of [[ground.entry_m, "entry"], [ground.exit_m, "exit"]]) {
      svg.append(element("text", { x: scale.x(s), y: HIGH.gap[1] + 12, class: "name" }, `${words} ${s.toFixed(0)} m`));
    }
    for (const h of ground.handles) handle(svg, h);
    place.replaceChildren(svg);
    place.classList.toggle("stale", busy);
  }

  function gap(svg) {
    const shown = told ? told.line.station_m.map((s, i) => scale.inside(s) ? told.line.gap_ms[i] : null).filter((g) => g !== null) : [];
    const most = Math.max(5, ...shown.map(Math.abs)) * 1.1;
    const to = (v) => HIGH.gap[1] - (v + most) / (2 * most) * (HIGH.gap[1] - HIGH.gap[0]);
    const step = most > 40 ? 40 : most > 16 ? 10 : 5;
    axis(svg, "gap to the planned ride, ms (above 0: later)", HIGH.gap, ticks(-most, most, step), to, 0);
    if (told) svg.append(element("polyline", { points: points(told.line.station_m, told.line.gap_ms, to), class: "way-told" }));
  }

  // a dot in both drawings; either can be dragged
  function handle(svg, h) {
    const aim = aims.get(key(ground.corner, h.position));
    const [offset, height] = dot(h);
    const x = scale.x(h.station_m);
    for (const [kind, value, s] of [["offset", offset, scale.flat], ["height", height, scale.bank]]) {
      if (aim) svg.append(element("circle", { cx: x, cy: s.to(kind === "offset" ? h.offset_m : h.height_m), r: 3, class: "was" }));
      const c = element("circle", {
        cx: x, cy: s.to(value), r: 7, class: `handle ${aim ? "is-told" : ""}`, tabindex: 0, role: "slider", "data-position": h.position, "data-kind": kind,
        "aria-label": `corner ${ground.corner}, ${h.position}, ${kind} m`, "aria-valuenow": value.toFixed(2), "aria-valuetext": `${value.toFixed(2)} m`,
      });
      c.append(element("title", {}, `${h.position}: ${kind} ${value.toFixed(2)} m; drag`));
      c.addEventListener("pointerdown", (event) => drag(event, h, kind, s));
      c.addEventListener("keydown", (event) => {
        const step = { ArrowUp: 0.05, ArrowDown: -0.05 }[event.key];
        if (step === undefined) return;
        event.preventDefault();
        put(h, kind, dot(h)[kind === "offset" ? 0 : 1] + step);
        place.querySelector(`.handle[data-position="${h.position}"][data-kind="${kind}"]`).focus();
        soon(600);
      });
      svg.append(c);
    }
    svg.append(element("text", { x, y: Math.min(scale.bank.to(height), scale.bank.to(h.height_m)) - 11, class: "name" }, h.position));
  }

  const step = (v) => Math.round(100 * v) / 100;
  function put(h, kind, value) {
    const [low, high] = kind === "offset" ? [h.across_m[0] + 0.02, h.across_m[h.across_m.length - 1] - 0.02] : [0, Math.max(...h.heights_m) - 0.02];
    const old = aims.get(key(ground.corner, h.position));
    aims.set(key(ground.corner, h.position), { corner: ground.corner, position: h.position, kind, value: step(Math.min(Math.max(value, low), high)), band: old ? old.band : BAND_M });
    met.delete(key(ground.corner, h.position));
    draw();
    table();
  }

  function drag(event, h, kind, s) {
    event.preventDefault();
    clearTimeout(rest);
    const svg = place.querySelector("svg");
    const box = svg.getBoundingClientRect();
    const by = svg.viewBox.baseVal.height / box.height;
    const offset = s.to(dot(h)[kind === "offset" ? 0 : 1]) - (event.clientY - box.top) * by;
    const move = (e) => put(h, kind, s.from((e.clientY - box.top) * by + offset));
    const end = () => {
      window.removeEventListener("pointermove", move);
      window.removeEventListener("pointerup", end);
      if (aims.has(key(ground.corner, h.position))) soon(50);
    };
    window.addEventListener("pointermove", move);
    window.addEventListener("pointerup", end);
  }

  // the file that the command line rides by --line
  function text() {
    const row = (a) => [a.corner, a.position, a.kind === "offset" ? a.value : "", a.kind === "height" ? a.value : "", a.band].join(",");
    return ["corner,position,offset_m,height_m,band_m", ...[...aims.values()].map(row)].join("\n") + "\n";
  }

  function table() {
    const body = part("line-aims").querySelector("tbody");
    const own = ground ? ground.handles.map((h) => key(ground.corner, h.position)) : [];
    const others = [...aims.keys()].filter((k) => !own.includes(k));
    body.replaceChildren(...own.concat(others).map((k) => {
      const [corner, position] = k.split("|");
      const aim = aims.get(k);
      const h = own.includes(k) ? ground.handles.find((x) => x.position === position) : null;
      const row = document.createElement("tr");
      row.classList.toggle("is-told", aim !== undefined);
      row.append(Parts.make("th", `${corner}, ${position}`));
      const at = h ? dot(h) : [aim.kind === "offset" ? aim.value : null, aim.kind === "height" ? aim.value : null];
      for (const [i, kind] of ["offset", "height"].entries()) {
        const cell = Parts.make("td");
        if (h) {
          const field = Parts.make("input");
          Object.assign(field, { type: "number", step: "any", value: at[i].toFixed(2) });
          field.dataset.field = `${position} ${kind}`;
          field.setAttribute("aria-label", `corner ${corner}, ${position}, ${kind} m`);
          field.classList.toggle("given", aim !== undefined && aim.kind === kind);
          field.addEventListener("change", () => {
            if (field.value.trim() === "" || !Number.isFinite(Number(field.value))) return;
            // typed beyond the ice: asked as it is, and refused with its reason
            aims.set(k, { corner, position, kind, value: Number(field.value), band: aim ? aim.band : BAND_M });
            met.delete(k);
            draw();
            table();
            soon(50);
          });
          cell.append(field);
        } else if (at[i] !== null) cell.textContent = Parts.minus(at[i].toFixed(2));
        row.append(cell);
      }
      const within = Parts.make("td");
      if (aim) {
        const field = Parts.make("input");
        Object.assign(field, { type: "number", step: "any", min: "0.01", max: "2", value: aim.band });
        field.setAttribute("aria-label", `corner ${corner}, ${position}, within m`);
        field.addEventListener("change", () => {
          aim.band = field.value;
          soon(50);
        });
        within.append(field);
      }
      const came = met.get(k);
      const said = Parts.make("td", came ? Parts.minus(`${came.asked[0]} / ${came.asked[1]}, ${came.ridden ? came.ridden.join(" / ") : "not reached"}`) : aim ? "asked" : "as planned");
      if (came) said.className = came.is_met ? "within" : "far";
      if (came) said.title = came.words;
      const undo = Parts.make("td");
      if (aim) {
        const button = Parts.make("button", "×");
        button.type = "button";
        button.title = "as planned again";
        button.setAttribute("aria-label", `corner ${corner}, ${position}: as planned again`);
        button.addEventListener("click", () => {
          aims.delete(k);
          met.delete(k);
          changed();
        });
        undo.append(button);
      }
      row.append(within, said, undo);
      return row;
    }));
  }

  function changed() {
    draw();
    table();
    if (aims.size === 0) nothing();
    else soon(50);
  }

  function nothing() {
    told = null;
    met = new Map();
    part("line-tables").hidden = true;
    part("line-met").replaceChildren();
    verdict("", "");
    doing(riding ? "Wait for the planned ride, then drag a dot." : "Nothing moved: drag a dot, or type a place.");
    draw();
  }

  const doing = (words, wrong) => {
    part("line-doing").textContent = words;
    part("line-doing").classList.toggle("warned", wrong === true);
  };
  function verdict(words, name) {
    part("line-verdict").textContent = words;
    part("line-verdict").className = `advice ${name}`;
  }

  function soon(wait) {
    clearTimeout(rest);
    rest = setTimeout(() => ask({ line: text(), what_if: "" }), wait);
  }

  async function ask(question) {
    if (busy) {
      waiting = question;
      return;
    }
    if (question.line === "" ? false : aims.size === 0) return;
    busy = true;
    place.classList.add("stale");
    const steps = (s, done, of) => doing(done > 0 && of > 2 ? `the ride is there; each corner alone: ${s} s` : `planning this ride anew: ${s} s`);
    try {
      const answer = await Parts.waited("/api/line", { here: asked.here, ...question }, steps);
      if (answer.why !== undefined) refusal(answer.why);
      else if (answer.told.what_if) said(answer.told.what_if);
      else show(answer.told);
    } catch (why) {
      doing(Parts.gone(why), true);
    }
    busy = false;
    place.classList.remove("stale");
    part("line-view").dataset.answered = String(Number(part("line-view").dataset.answered ?? 0) + 1);
    if (waiting !== false) {
      const next = waiting;
      waiting = false;
      ask(next.line === "" ? next : { line: text(), what_if: "" });
    }
  }

  function refusal(why) {
    const lines = why.split("\n");
    verdict(lines.length > 1 ? lines[0].replace(/^this line/, "This line") : "No such ride", "warned");
    part("line-met").replaceChildren(...lines.slice(lines.length > 1 ? 1 : 0).map((l) => Parts.make("p", Parts.minus(l), "flag")));
    part("line-words").replaceChildren();
    part("line-tables").hidden = true;
    doing("What is asked stands in the drawing; no ride of this sled goes there. Drag it nearer to the planned line.");
    told = null;
    met = new Map();
    draw();
    table();
  }

  function said(w) {
    verdict(w.ms === "lost" ? "Control is lost" : `${Parts.minus(w.ms)} ms at the finish`, w.ms.startsWith("-") || w.ms === "0" ? "" : "warned");
    part("line-met").replaceChildren(Parts.make("p", Parts.minus(w.understood)));
    part("line-words").replaceChildren(Parts.make("p", Parts.minus(`At half to one and a half times the size: ${w.band} ms; walls touched more: ${w.touches_more}`)));
    part("line-tables").hidden = true;
    doing("a what-if: this single fault on the planned ride, ridden to the finish");
  }

  function show(answer) {
    told = answer;
    met = new Map(answer.met.map((m) => [key(m.corner, m.position), m]));
    const gained = answer.gap_ms !== null && answer.gap_ms.startsWith("-");
    if (answer.lost !== null) verdict(answer.lost, "warned");
    else if (answer.hidden) verdict(`${Parts.minus(answer.gap_ms)} ms at the finish: cannot tell, two plans of one sled differ by up to ${answer.plan_ms} ms`, "doubtful");
    else verdict(`${Parts.minus(answer.gap_ms)} ms at the finish, ${gained ? "gained" : "lost"}`, gained ? "" : "warned");
    doing(`planned ${answer.finish_s[0]} s, as tried ${answer.finish_s[1]} s; numerical error ${answer.error_ms} ms, two plans of one sled within ${answer.plan_ms} ms`);
    part("line-met").replaceChildren(...answer.met.map((m) => Parts.make("p", Parts.minus(`${m.aim}: ${m.is_met ? "within the band" : "outside the band"}. ${m.words}`), m.is_met ? "small" : "flag")));
    part("line-words").replaceChildren();
    part("line-tables").hidden = false;
    part("line-corners").querySelector("tbody").replaceChildren(...answer.corners.map((c) => {
      const row = document.createElement("tr");
      row.append(Parts.make("th", c.corner), ...c.planned.map((p, i) => {
        const t = c.told ? c.told[i] : "–";
        return Parts.make("td", p === t ? p : `${p} | ${t}`, p === t ? "" : "differs");
      }));
      row.classList.toggle("is-told", answer.met.some((m) => m.corner === c.corner));
      return row;
    }));
    const s = answer.sections;
    part("line-losses").replaceChildren(...(s === null ? [] : [Parts.table({
      heads: ["section", ...s.causes, "all", "showed"], rows: [...s.rows.map((r) => [r.name, ...r.cells]), ["whole way", ...s.whole]],
    })]));
    part("line-caused").replaceChildren(...(answer.caused === null ? [] : [
      Parts.make("h2", "What each corner with a moved dot caused, ms: alone; won back without it"),
      Parts.table({ heads: ["corner", "caused alone", "recovered without"], rows: answer.caused.rows }),
      ...(answer.caused.together === null ? [] : [Parts.make("p", Parts.minus(`together, beyond each alone: ${answer.caused.together} ms`))]),
    ]));
    draw();
    table();
  }

  async function refresh() {
    if (!visible || track === null || asked === null) return;
    const corner = choice.value;
    const { ok, told: found } = await Parts.ask("/api/place", { here: asked.here, pinned: asked.pinned, corner });
    if (!ok) {
      doing(found.error, true);
      return;
    }
    if (corner !== choice.value) return;
    ground = found;
    draw();
    table();
    if (found.handles.length > 0 && aims.size === 0 && part("line-verdict").textContent === "") doing("Nothing told: drag a dot, or type a place.");
  }

  choice.addEventListener("change", refresh);
  part("line-clear").addEventListener("click", () => {
    aims.clear();
    changed();
  });
  part("line-say").addEventListener("click", () => {
    const words = part("line-what-if").value.trim();
    if (words !== "") ask({ line: "", what_if: words });
  });
  part("line-what-if").addEventListener("keydown", (event) => { if (event.key === "Enter") part("line-say").click(); });
  part("line-save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text()], { type: "text/csv" }));
    link.download = "line.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  });

  return {
    track: (t) => {
      track = t;
      choice.replaceChildren(...t.corners.filter((c) => c.entry_m < t.finish_m).map((c) => {
        const option = Parts.make("option", `${c.name}, ${c.hand}`);
        option.value = c.name;
        return option;
      }));
    },
    answered: (question, still) => {
      const moved = asked === null || JSON.stringify(asked.here) !== JSON.stringify(question.here);
      asked = question;
      riding = still !== null && still[0] !== "rides";
      if (moved && aims.size > 0) {
        // another sled rides another line
        told = null;
        met = new Map();
        part("line-tables").hidden = true;
        verdict("", "");
        doing("Another set-up: move a dot, or type, to plan this line for it.");
      }
      refresh();
    },
    shown: (is) => {
      visible = is;
      refresh();
    },
  };
})();
