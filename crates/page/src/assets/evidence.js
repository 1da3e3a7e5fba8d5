// What runs say: a timing sheet is fitted, and a test is planned before it is ridden. All words and cells come written.
"use strict";

const Parts = (() => {
  const minus = (text) => text.replace(/\+-(?=\s?\d)/g, "±").replace(/(^|[\s,(])-(?=\d)/g, "$1−");
  // the lines of a printed text; one that goes on below is one
  const lines = (text) => text.replace(/([^.:;)\s])\n(?=[a-z])/g, "$1 ").split("\n").filter((l) => l.trim() !== "");
  const make = (kind, text, name) => {
    const e = document.createElement(kind);
    if (text !== undefined) e.textContent = text;
    if (name !== undefined) e.className = name;
    return e;
  };

  function table(t, mark) {
    const all = make("table");
    const row = (cells, head) => {
      const r = make("tr");
      r.append(...cells.map((c, i) => make(head || i === 0 ? "th" : "td", minus(c))));
      return r;
    };
    const head = make("thead");
    head.append(row(t.heads, true));
    const body = make("tbody");
    body.append(...t.rows.map((cells) => {
      const r = row(cells, false);
      if (mark) mark(r, cells);
      return r;
    }));
    all.append(head, body);
    const box = make("div", undefined, "scroll");
    box.append(all);
    return box;
  }

  // words and tables in turn, as the report has them
  function report(part, mark) {
    const all = [];
    part.words.forEach((words, i) => {
      for (const line of lines(words)) all.push(make("p", minus(line)));
      if (part.tables[i]) all.push(table(part.tables[i], mark));
    });
    return all;
  }

  async function ask(address, body) {
    const how = body === undefined ? {} : { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
    const response = await fetch(address, how);
    return { ok: response.ok, told: await response.json() };
  }

  // asks until the work is done; the answer, or why there is none
  async function waited(address, body, doing) {
    let { ok, told } = await ask(address, body);
    if (!ok) return { why: told.error };
    const begun = Date.now();
    while (told.running) {
      doing(Math.round((Date.now() - begun) / 1000), told.done ?? 0, told.of ?? 0);
      await new Promise((done) => { setTimeout(done, 300); });
      ({ ok, told } = await ask(address));
      if (!ok) return { why: told.error };
    }
    return told.refused === null ? { told: told.told } : { why: told.refused };
  }

  // options of the command line by what they are called here
  const NAMES = [["--spread-of-sheet", "spread from the sheet"], ["--keep-good-rows uses them alone", "the tick at good rows uses them alone"],
    ["say whom by --athlete", "choose whose runs"], ["say which two by --a and --b", "choose which two are A and B"], ["--prior-sd", "give or take"],
    ["--prior", "B less A"], ["--athlete", "athlete"],
    ["--difference-sd", "give or take"], ["--difference", "B less A"], ["--runs", "runs"], ["--spread", "spread of a run"], ["--worth", "worth on the line"],
    ["--trap-at", "speed trap"], ["--only", "runs of set-up"], ["--leave-out", "run left out"]];
  const named = (text) => NAMES.reduce((t, [option, name]) => t.replaceAll(option, name), text);

  // the look of a small chart beside the words
  const layout = (high, more) => ({
    height: high, margin: { l: 8, r: 8, t: 6, b: 30 }, showlegend: false, paper_bgcolor: "#fff", plot_bgcolor: "#fff",
    font: { family: "system-ui, sans-serif", size: 11, color: "#17333d" }, dragmode: false, ...more,
  });

  const gone = (why) => `the program does not answer (${why.message}); is it still running?`;

  return { table, report, make, minus, lines, ask, waited, named, gone, layout };
})();

const Evidence = (() => {
  const part = (id) => document.getElementById(id);
  const INK = "#17333d", HERE = "#c8371f", PINNED = "#8aa0a9", GOOD = "#0f6b57";
  const PLAIN = { displayModeBar: false, responsive: true };
  const out = new Set();     // runs left out
  let name = "sheet.csv";
  let fitting = false;
  // asked anew while a fit was under way
  let again = false;

  for (const button of document.querySelectorAll("#evidence-view .parts button")) {
    button.addEventListener("click", () => {
      part("evidence-view").dataset.part = button.dataset.part;
      for (const other of document.querySelectorAll("#evidence-view .parts button")) {
        other.setAttribute("aria-pressed", String(other === button));
      }
      resize();
      if (button.dataset.part === "trial") trial();
      if (button.dataset.part === "tested") Tested.ask();
    });
  }

  const { layout } = Parts;

  // each unknown over its own band before the runs, so that all stand on one axis
  function unknowns(list) {
    const shown = list.filter((u) => u.before !== null && !u.of_a_run);
    const line = (of, color, width) => shown.map((u, i) => {
      const [mean, sd] = of(u);
      const to = (v) => (v - u.before[0]) / u.before[1];
      const said = `${u.name}: ${mean.toFixed(u.digits)} ± ${sd.toFixed(u.digits)}`;
      return {
        x: [to(mean - 1.96 * sd), to(mean), to(mean + 1.96 * sd)], y: Array(3).fill(shown.length - i), mode: "lines+markers",
        line: { color, width }, marker: { color, size: [0, width + 4, 0] }, hovertemplate: `${said}<extra></extra>`,
      };
    });
    part("sheet-unknowns").style.height = `${34 + 23 * shown.length}px`;
    Plotly.react("sheet-unknowns", [...line((u) => u.before, PINNED, 9), ...line((u) => u.with_runs, HERE, 4)], layout(34 + 23 * shown.length, {
      margin: { l: 132, r: 12, t: 6, b: 34 }, hovermode: "closest",
      xaxis: { title: { text: "× the spread believed before", standoff: 3 }, zeroline: true, zerolinecolor: "#9db0b7", gridcolor: "#e3eaec", fixedrange: true },
      yaxis: { tickvals: shown.map((_, i) => shown.length - i), ticktext: shown.map((u) => u.name.replace("line loss, ", "line, ")), range: [0.4, shown.length + 0.6], fixedrange: true, gridcolor: "#eef3f4" },
    }), PLAIN);
  }

  function predicted(list) {
    const at = list.map((p) => `run ${p.run}`);
    const said = (p) => `run ${p.run}: predicted ${p.band_s[1].toFixed(2)} s, 95 % ${p.band_s[0].toFixed(2)} to ${p.band_s[2].toFixed(2)} s; timed ${p.timed_s.toFixed(2)} s, ${p.inside ? "inside" : "outside"}<extra></extra>`;
    Plotly.react("sheet-predicted", [
      {
        x: at, y: list.map((p) => p.band_s[1]), mode: "markers", marker: { color: PINNED, size: 14, symbol: "line-ew", line: { width: 3, color: PINNED } },
        error_y: { type: "data", symmetric: false, array: list.map((p) => p.band_s[2] - p.band_s[1]), arrayminus: list.map((p) => p.band_s[1] - p.band_s[0]), color: PINNED, thickness: 7, width: 0 },
        hovertemplate: list.map(said),
      },
      { x: at, y: list.map((p) => p.timed_s), mode: "markers", marker: { size: 10, color: list.map((p) => p.inside ? GOOD : HERE), symbol: list.map((p) => p.inside ? "circle" : "x") }, hovertemplate: list.map(said) },
    ], layout(230, {
      margin: { l: 48, r: 8, t: 8, b: 30 }, hovermode: "closest",
      xaxis: { type: "category", fixedrange: true }, yaxis: { title: { text: "finish, s", standoff: 4 }, gridcolor: "#e3eaec", zeroline: false, fixedrange: true, tickformat: ".2f" },
    }), PLAIN);
  }

  function runs(told) {
    part("sheet-runs").replaceChildren(...told.runs.map((run) => {
      const label = Parts.make("label", undefined, "run");
      const box = Parts.make("input");
      box.type = "checkbox";
      box.checked = !out.has(run);
      box.addEventListener("change", () => {
        if (box.checked) out.delete(run);
        else out.add(run);
        fit();
      });
      label.append(box, run);
      label.classList.toggle("flagged", new RegExp(`^run ${run.replace(/[^\w ]/g, ".")}:`, "m").test(told.flags));
      return label;
    }));
    const only = part("sheet-only");
    const was = only.value;
    only.replaceChildren(...["", ...told.set_ups].map((s) => {
      const option = Parts.make("option", s === "" ? "all" : s);
      option.value = s;
      return option;
    }));
    only.value = was;
  }

  function show(told) {
    part("sheet-none").hidden = true;
    part("sheet-result").hidden = false;
    part("sheet-verdict").textContent = told.fits_words;
    part("sheet-verdict").classList.toggle("warned", !told.fits);
    const paragraphs = (words, style) => words.trim().split("\n").map((line) => Parts.make("p", Parts.minus(line), style(line)));
    part("sheet-together").replaceChildren(...paragraphs(told.together, (line) => line.startsWith("Your runs cannot") ? "advice doubtful" : undefined));
    runs(told);
    unknowns(told.unknowns);
    predicted(told.predicted);
    part("sheet-flags").replaceChildren(...paragraphs(told.flags, (line) => /^(run|section)/.test(line) ? "flag" : "small"));
    const block = (title, list) => [Parts.make("h2", title), ...list];
    const far = (row, cells) => cells.forEach((c, i) => { if (c.endsWith("*")) row.cells[i].classList.add("far"); });
    const outside = (row, cells) => row.classList.toggle("warn", cells[cells.length - 1] === "outside");
    part("sheet-parts").replaceChildren(
      ...block("Residuals by run and section", Parts.report(told.residuals, far)),
      ...block("Unknowns before and with the runs", Parts.report(told.estimates)),
      ...block("Each run from the others", Parts.report(told.others, outside)),
      ...block("What would help most", Parts.report(told.helps)),
      ...block("What was fitted", told.begun.trim().split("\n").map((l) => Parts.make("p", l))),
    );
  }

  const doing = (text, wrong) => {
    part("sheet-doing").textContent = text;
    part("sheet-doing").classList.toggle("warned", wrong === true);
  };

  async function fit() {
    again = fitting;
    if (fitting) return;
    fitting = true;
    part("sheet-fit").disabled = true;
    try {
      const body = {
        here: Controls.asked(), name, sheet: part("sheet-text").value, fit: part("sheet-what").value, skill: part("sheet-skill").value, spread: part("sheet-spread").value,
        spread_of_sheet: part("sheet-own").checked, trap_at: part("sheet-trap").value, only: part("sheet-only").value,
        leave_out: [...out], keep_good_rows: part("sheet-good").checked,
      };
      const { told, why } = await Parts.waited("/api/calibration", body, (s) => doing(`planning the ride of this set-up and fitting: ${s} s`));
      part("sheet-told").classList.toggle("stale", why !== undefined);
      if (why !== undefined) doing(Parts.named(why), true);
      else {
        doing(`fitted; the set-up is that of the controls`);
        show(told);
      }
    } catch (why) {
      doing(Parts.gone(why), true);
    }
    fitting = false;
    part("sheet-fit").disabled = false;
    part("evidence-view").dataset.fitted = String(Number(part("evidence-view").dataset.fitted ?? 0) + 1);
    if (again) fit();
  }

  async function take(file) {
    if (!file) return;
    if (file.size > 131072) {
      const why = `${file.name}: ${file.size} bytes; a sheet has at most 131072`;
      doing(why, true);
      Tested.refused(why);
      return;
    }
    part("sheet-text").value = await file.text();
    name = file.name;
    part("sheet-name").textContent = file.name;
    out.clear();
    part("sheet-only").value = "";
    Tested.opened();
    if (part("evidence-view").dataset.part === "tested") Tested.ask();
    else fit();
  }

  part("sheet-fit").addEventListener("click", fit);
  part("sheet-open").addEventListener("change", (event) => {
    take(event.target.files[0]);
    event.target.value = "";
  });
  for (const id of ["sheet-what", "sheet-skill", "sheet-own", "sheet-trap", "sheet-only"]) {
    part(id).addEventListener("change", () => { if (part("sheet-text").value.trim() !== "") fit(); });
  }
  const view = part("evidence-view");
  view.addEventListener("dragover", (event) => {
    event.preventDefault();
    view.classList.add("over");
  });
  view.addEventListener("dragleave", () => view.classList.remove("over"));
  view.addEventListener("drop", (event) => {
    event.preventDefault();
    view.classList.remove("over");
    take(event.dataTransfer.files[0]);
  });

  // the trial: asked as fields move, the newest question last
  let busy = false, waiting = false;
  const value = (id) => part(id).value.trim();

  function chance(told) {
    const lines = told.questions.map((q, i) => ({
      x: q.chance.map((c) => c[0]), y: q.chance.map((c) => 100 * c[1]), mode: "lines+markers", name: q.name,
      line: { color: i === 0 ? HERE : ["#2f7f93", "#8b6fb0", "#c98a12", GOOD][(i - 1) % 4], width: 2 }, marker: { size: 5 },
      hovertemplate: `${q.name}: %{x:.0f} runs, %{y:.0f} %<extra></extra>`,
    }));
    Plotly.react("trial-chance", lines, layout(190, {
      margin: { l: 44, r: 10, t: 8, b: 34 }, hovermode: "closest", showlegend: lines.length > 1, legend: { x: 0.02, y: 0.98, font: { size: 10 } },
      xaxis: { title: { text: "runs, two make a pair", standoff: 3 }, ticks: "outside", ticklen: 4, tickcolor: "rgba(0,0,0,0)", range: [0, 122], gridcolor: "#e3eaec", fixedrange: true },
      yaxis: { title: { text: "chance to tell, %", standoff: 3 }, range: [0, 102], gridcolor: "#e3eaec", fixedrange: true },
      shapes: [
        { type: "line", x0: told.runs, x1: told.runs, y0: 0, y1: 102, line: { color: INK, width: 1.5 } },
        { type: "line", xref: "paper", x0: 0, x1: 1, y0: 80, y1: 80, line: { color: "#9db0b7", width: 1, dash: "dot" } },
      ],
      annotations: [
        { x: told.runs, y: 101, text: `your ${told.runs} runs`, showarrow: false, xanchor: told.runs > 80 ? "right" : "left", yanchor: "top", xshift: told.runs > 80 ? -4 : 4, font: { size: 10 } },
        { xref: "paper", x: 1, y: 80, text: "80 %: likely to tell", showarrow: false, xanchor: "right", yanchor: "bottom", font: { size: 10, color: "#4f6670" } },
      ],
    }), PLAIN);
  }

  async function trial() {
    if (busy) {
      waiting = true;
      return;
    }
    busy = true;
    try {
      const { ok, told } = await Parts.ask("/api/trial", {
        here: Controls.asked(), runs: value("trial-runs"), spread: value("trial-spread"), difference: value("trial-difference"),
        difference_sd: value("trial-difference-sd"), worth: value("trial-worth"), questions: part("trial-questions").value,
      });
      part("trial-parts").classList.toggle("stale", !ok);
      if (!ok) part("trial-advice").replaceChildren(Parts.make("p", Parts.named(told.error), "advice warned"));
      else {
        part("trial-advice").replaceChildren(...told.questions.map((q) => Parts.make("p", `${q.name}: ${q.advice}`, q.do_not_run ? "advice warned" : "advice")));
        const [head, ...rest] = told.report.words;
        part("trial-head").textContent = Parts.lines(head).join(" ");
        part("trial-parts").replaceChildren(...Parts.report({ words: ["", ...rest], tables: told.report.tables }));
        chance(told);
      }
    } catch (why) {
      part("trial-advice").replaceChildren(Parts.make("p", Parts.gone(why), "advice warned"));
    }
    view.dataset.planned = String(Number(view.dataset.planned ?? 0) + 1);
    busy = false;
    if (waiting) {
      waiting = false;
      trial();
    }
  }

  for (const control of document.querySelectorAll("#trial-part .slide")) {
    const [range, field] = control.querySelectorAll("input");
    range.addEventListener("input", () => {
      field.value = range.value;
      trial();
    });
    field.addEventListener("input", () => {
      range.value = field.value;
      trial();
    });
  }
  let rest = null;
  part("trial-questions").addEventListener("input", () => {
    clearTimeout(rest);
    rest = setTimeout(trial, 400);
  });

  function resize() {
    for (const id of ["sheet-unknowns", "sheet-predicted", "trial-chance", "tested-bands", "tested-runs"]) {
      if (part(id).data && part(id).offsetParent !== null) Plotly.Plots.resize(part(id));
    }
  }

  return { shown: (is) => { if (is) resize(); }, sheet: () => ({ name, sheet: part("sheet-text").value, keep_good_rows: part("sheet-good").checked }) };
})();
