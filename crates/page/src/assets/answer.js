// The answer in words and tables. All cells come written; nothing is reckoned here.
"use strict";

const Answer = (() => {
  const part = (id) => document.getElementById(id);
  const cell = (text, head) => {
    const c = document.createElement(head ? "th" : "td");
    c.textContent = text;
    return c;
  };
  const minus = (text) => text.replace(/-(?=\d)/g, "−");

  function rows(id, list, mark) {
    const body = part(id).querySelector("tbody");
    body.replaceChildren(...list.map((cells) => {
      const row = document.createElement("tr");
      row.append(...cells.map((text, i) => cell(minus(text), i === 0)));
      if (mark) mark(row, cells);
      return row;
    }));
  }

  function time(a) {
    const finish = part("finish");
    finish.classList.toggle("lost", a.finish.lost !== undefined);
    finish.textContent = a.finish.lost !== undefined ? "control lost" : a.finish.time_s;
    part("rough").hidden = a.rough === null;
    document.body.classList.toggle("is-rough", a.rough !== null);
    if (a.finish.lost !== undefined) {
      part("how").textContent = (a.rough === null ? "" : "rough: ") + a.finish.lost;
    } else if (a.rough !== null) {
      part("how").textContent = a.rough;
    } else {
      const error = a.numerical_error_ms === null ? "" : `, errors: steps ${a.numerical_error_ms} ms, ${a.error_beside_steps}`;
      part("how").textContent =
        `top ${a.top_speed_km_h} km/h, greatest load ${a.greatest_g} g, ${a.mass_kg} kg${error}`;
    }
  }

  function difference(a) {
    const d = a.difference;
    const out = part("difference");
    out.className = "";
    if (a.is_pinned) {
      out.textContent = "0";
      part("causes").textContent = "this is the pinned set-up";
      return;
    }
    out.textContent = d === null ? "–" : minus(d.ms);
    if (d !== null && d.slower) out.classList.add("slower");
    if (d !== null && d.faster) out.classList.add("faster");
    const told = d !== null && !d.slower && !d.faster;
    part("causes").textContent = told ? "cannot tell: within the errors of steps, tables and plans"
      : a.causes === null ? (d === null ? "" : "planned rides; causes come with the full answer")
        : `by cause: ${a.causes.map(([name, ms]) => `${name} ${minus(ms)}`).join(", ")}`;
  }

  function rides(a) {
    const r = a.rides;
    const [own, other] = part("ensemble").querySelectorAll("tbody tr");
    const fill = (row, cells) => cells.forEach((text, i) => { row.cells[i + 1].textContent = text; });
    const nothing = Array(6).fill("–");
    const stale = r === null || r.ridden === 0;
    const put = (id, text) => { part(id).textContent = minus(text); };
    for (const id of ["verdict", "lost", "ensemble"]) part(id).classList.toggle("stale", stale);
    if (stale) {
      put("verdict", "–");
      put("lost", "–");
      put("band", r === null ? "rides follow once the hand rests" : "rides follow");
      put("lost-pinned", "");
      fill(own, nothing);
      fill(other, nothing);
      if (r !== null) own.cells[1].textContent = r.here[0];
      return;
    }
    fill(own, r.here);
    fill(other, a.is_pinned || r.pinned === null ? nothing : r.pinned);
    put("lost", r.here[4]);
    put("lost-pinned", a.is_pinned || r.pinned === null ? `${r.ridden} of ${r.of} rides`
      : `pinned: ${r.pinned[4]} %, ${r.ridden} of ${r.of} rides of each`);
    if (a.is_pinned || r.pair === null) {
      put("verdict", a.is_pinned ? "the pinned set-up itself" : "–");
      put("band", `median ${r.here[1]} s; move a control to compare`);
    } else {
      put("verdict", r.pair.said);
      put("band", `this less pinned: median ${r.pair.median}, ${r.pair.band}; ahead in ${r.pair.ahead} %`);
    }
  }

  function progress(doing) {
    const bar = part("progress");
    bar.hidden = doing === null;
    part("doing").textContent = doing === null ? "full answer is there"
      : doing[2] === 1 ? doing[0] : `${doing[0]}: ${doing[1]} of ${doing[2]}`;
    if (doing !== null) {
      bar.max = doing[2];
      bar.value = doing[1];
    }
  }

  function trouble(text) {
    part("trouble").hidden = text === null;
    part("trouble").textContent = text === null ? "" : text;
  }

  let newest = null;

  function show(a) {
    trouble(null);
    time(a);
    difference(a);
    rides(a);
    rows("splits", a.splits);
    rows("corners", a.corners.map((c) => c.slice(0, 11)), (row, cells) => {
      row.tabIndex = 0;
      row.classList.toggle("warn", cells[9] === "yes" || cells[10] === "yes");
    });
    [...part("corners").querySelectorAll("tbody tr")].forEach((row, i) => {
      const to = () => Charts.cursor((Number(a.corners[i][11]) + Number(a.corners[i][12])) / 2);
      row.onclick = to;
      row.onfocus = to;
    });
    if (a.loads !== null) rows("loads", a.loads.cells);
    part("loads").classList.toggle("stale", a.rides === null || a.rides.ridden === 0);
    part("events").replaceChildren(...(a.lip === null ? [] : [a.lip]).concat(a.events).map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }));
    if (a.rough === null) Lost.show(a.sections);
    newest = a;
    Charts.draw(a).then(() => {
      if (newest !== a) return;
      document.body.dataset.number = a.number;
      document.body.dataset.state = a.rough !== null ? "rough" : a.doing !== null ? "riding" : "full";
      Charts.again();
    });
  }

  return { show, progress, trouble };
})();
