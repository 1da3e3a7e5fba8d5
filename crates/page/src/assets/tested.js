// Runs of two set-ups told apart: words and cells come written, the bands and runs are drawn.
"use strict";

const Tested = (() => {
  const part = (id) => document.getElementById(id);
  const A = "#2f7f93", B = "#c8371f", GREY = "#5c7480", INK = "#17333d";
  const PLAIN = { displayModeBar: false, responsive: true };
  let busy = false, waiting = false, rest = null;

  const doing = (text, wrong) => {
    part("tested-doing").textContent = text;
    part("tested-doing").classList.toggle("warned", wrong === true);
    part("tested-told").classList.toggle("stale", wrong === true);
  };

  // what can be chosen, with what was chosen before where the sheet still has it
  function choices(id, first, names) {
    const select = part(id);
    const was = select.value;
    select.replaceChildren(...["", ...names].map((name) => {
      const option = Parts.make("option", name === "" ? first : name);
      option.value = name;
      return option;
    }));
    select.value = names.includes(was) ? was : "";
  }

  const signed = (s) => `${s < 0 ? "−" : "+"}${Math.abs(s).toFixed(3)}`;

  function bands(list) {
    const at = list.map((_, i) => list.length - i);
    const colors = list.map(([name]) => name === "believed before" ? "#8aa0a9" : name === "raw" ? GREY : B);
    const most = 1.08 * Math.max(0.01, ...list.flatMap(([, s]) => [Math.abs(s[0]), Math.abs(s[2])]));
    const high = 74 + 30 * list.length;
    part("tested-bands").style.height = `${high}px`;
    Plotly.react("tested-bands", list.map(([name, [low, middle, high_s]], i) => ({
      x: [low, middle, high_s], y: Array(3).fill(at[i]), mode: "lines+markers", line: { color: colors[i], width: 6 },
      marker: { color: colors[i], size: [0, 12, 0] },
      hovertemplate: `${name}: ${signed(middle)} s, 95 % ${signed(low)} to ${signed(high_s)} s<extra></extra>`,
    })), Parts.layout(high, {
      margin: { l: 96, r: 12, t: 24, b: 36 }, hovermode: "closest",
      xaxis: { title: { text: "time with B less time with A, s", standoff: 3 }, range: [-most, most], zeroline: true, zerolinecolor: INK, zerolinewidth: 1.5, gridcolor: "#e3eaec", fixedrange: true },
      yaxis: { tickvals: at, ticktext: list.map(([name]) => name), range: [0.4, list.length + 0.6], fixedrange: true, showgrid: false, zeroline: false },
      annotations: [["← B faster", 0], ["A faster →", 1]].map(([text, x]) => ({
        xref: "paper", yref: "paper", x, y: 1, xanchor: x === 0 ? "left" : "right", yanchor: "bottom", text, showarrow: false, font: { size: 11, color: INK },
      })),
    }), PLAIN);
  }

  // shape and letter tell the set-ups apart, colour only besides
  function runs(told) {
    const of = (is_b) => {
      const own = told.runs.map((r, i) => [i, r]).filter(([, r]) => r.is_b === is_b);
      const name = `${is_b ? "B" : "A"}: ${told.names[is_b ? 1 : 0]}`;
      return {
        x: own.map(([i]) => i), y: own.map(([, r]) => r.finish_s), mode: "markers", name,
        marker: { size: 11, color: is_b ? B : A, symbol: is_b ? "square" : "circle-open", line: { width: 2.5, color: is_b ? B : A } },
        hovertemplate: own.map(([, r]) => `run ${r.run}, ${name}: ${r.finish_s.toFixed(2)} s<extra></extra>`),
      };
    };
    Plotly.react("tested-runs", [of(false), of(true)], Parts.layout(194, {
      margin: { l: 52, r: 8, t: 26, b: 36 }, hovermode: "closest", showlegend: true, legend: { orientation: "h", x: 0, y: 1.02, yanchor: "bottom" },
      xaxis: { title: { text: "run", standoff: 3 }, tickvals: told.runs.map((_, i) => i), ticktext: told.runs.map((r) => r.run), range: [-0.6, told.runs.length - 0.4], gridcolor: "#eef3f4", zeroline: false, fixedrange: true },
      yaxis: { title: { text: "finish, s", standoff: 4 }, gridcolor: "#e3eaec", zeroline: false, fixedrange: true, tickformat: ".2f" },
    }), PLAIN);
  }

  function show(told) {
    part("tested-none").hidden = true;
    part("tested-result").hidden = false;
    // the last words of the answer are the short ones; each line of these reports stands for itself
    const lines = (text) => text.split("\n").map((l) => l.trim()).filter((l) => l !== "");
    const [answer, ...more] = lines(told.answer);
    const end = answer.lastIndexOf(": ") + 2;
    part("tested-verdict").textContent = Parts.minus(answer.slice(end));
    part("tested-verdict").classList.toggle("doubtful", !told.clear);
    part("tested-answer").textContent = Parts.minus(answer.slice(0, end));
    const [head, ...rest] = told.report.words;
    part("tested-names").textContent = head;
    part("tested-parts").replaceChildren(
      ...more.map((line) => Parts.make("p", line, "flag")), Parts.table(told.report.tables[0]),
      ...rest.flatMap(lines).map((line) => Parts.make("p", Parts.minus(line))), ...lines(told.thresholds).map((line) => Parts.make("p", line, "small")),
    );
    bands(told.bands_s);
    runs(told);
  }

  async function ask() {
    if (Evidence.sheet().sheet.trim() === "") return;
    const value = (id) => part(id).value.trim();
    if ((value("tested-prior") === "") !== (value("tested-prior-sd") === "")) {
      doing("What you believed before needs two numbers: the difference, and how sure you were.", true);
      return;
    }
    if (busy) {
      waiting = true;
      return;
    }
    busy = true;
    try {
      const { ok, told } = await Parts.ask("/api/analysis", {
        ...Evidence.sheet(), a: value("tested-a"), b: value("tested-b"), athlete: value("tested-athlete"),
        prior: value("tested-prior"), prior_sd: value("tested-prior-sd"),
      });
      if (ok && told.set_ups.length > 0) {
        choices("tested-a", "the first", told.set_ups);
        choices("tested-b", "the second", told.set_ups);
        choices("tested-athlete", "all", told.athletes);
      }
      const why = ok ? told.refused : told.error;
      if (why !== null) doing(Parts.named(why), true);
      else {
        doing("compared as trial analyse does; the set-up of the controls plays no part");
        show(told.test);
      }
    } catch (why) {
      doing(Parts.gone(why), true);
    }
    const view = part("evidence-view").dataset;
    view.analysed = String(Number(view.analysed ?? 0) + 1);
    busy = false;
    if (waiting) {
      waiting = false;
      ask();
    }
  }

  const soon = () => {
    if (part("evidence-view").dataset.part !== "tested") return;
    clearTimeout(rest);
    rest = setTimeout(ask, 400);
  };
  part("tested-ask").addEventListener("click", ask);
  for (const id of ["tested-a", "tested-b", "tested-athlete"]) {
    part(id).addEventListener("change", () => {
      // one is chosen: the other is the next that is left
      const [a, b] = [part("tested-a"), part("tested-b")];
      if (id !== "tested-athlete") {
        const [own, other] = id === "tested-a" ? [a, b] : [b, a];
        if (own.value === "") other.value = "";
        else if (other.value === "" || other.value === own.value) other.value = [...other.options].map((o) => o.value).find((v) => v !== "" && v !== own.value) ?? "";
      }
      ask();
    });
  }
  for (const id of ["sheet-text", "tested-prior", "tested-prior-sd"]) part(id).addEventListener("input", soon);
  part("sheet-good").addEventListener("change", soon);

  return {
    ask,
    refused: (why) => doing(why, true),
    opened: () => { for (const id of ["tested-a", "tested-b", "tested-athlete"]) part(id).value = ""; },
  };
})();
