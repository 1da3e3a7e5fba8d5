// A corner of the track in space, to scale, with the lines that were ridden on it.
"use strict";

const Ice = (() => {
  const place = document.getElementById("ice");
  const choice = document.getElementById("ice-corner");
  const by = document.getElementById("ice-colour");
  const note = document.getElementById("ice-note");
  const BESIDE_M = 15;
  let track = null;
  let asked = null;      // set-ups of the newest full answer
  let lines = null;
  let seenFrom = 1;
  const farness = () => place.clientWidth < 700 ? 2.1 : 1;
  let shown = null;      // the answer that is drawn
  let drawn = "";
  let visible = false;
  let station = null;

  const able = () => {
    try {
      return document.createElement("canvas").getContext("webgl") !== null;
    } catch {
      return false;
    }
  };

  function corners(t) {
    track = t;
    choice.replaceChildren(...t.corners.filter((c) => c.entry_m < t.finish_m).map((c) => {
      const option = document.createElement("option");
      option.value = c.name;
      option.textContent = `${c.name}, ${c.hand}, ${c.entry_m.toFixed(0)} to ${Math.min(c.exit_m, t.finish_m).toFixed(0)} m`;
      return option;
    }));
  }

  function ball() {
    if (lines === null || station === null) return { x: [], y: [], z: [] };
    const s = lines.station_m;
    if (s.length === 0 || station < s[0] || station > s[s.length - 1]) return { x: [], y: [], z: [] };
    let i = s.findIndex((v) => v >= station);
    if (i < 0) i = s.length - 1;
    return { x: [lines.x[i]], y: [lines.y[i]], z: [lines.z[i] + 0.3] };
  }

  function draw(told) {
    lines = told.here;
    shown = told;
    const above = (z, by) => z.map((v) => v + by);
    const traces = [{
      type: "surface", x: told.x, y: told.y, z: told.z, showscale: false, hoverinfo: "skip",
      surfacecolor: told.z.map((row) => row.map(() => 0)), colorscale: [[0, "#cfe0e6"], [1, "#cfe0e6"]],
      lighting: { ambient: 0.8, diffuse: 0.35, specular: 0.05, roughness: 0.9 },
    }];
    const flat = { type: "scatter3d", mode: "lines", hoverinfo: "skip" };
    if (told.pinned !== null) {
      const p = told.pinned;
      traces.push({ ...flat, x: p.x, y: p.y, z: above(p.z, 0.04), line: { color: "#5c7480", width: 4 } });
    }
    if (told.here !== null) {
      const h = told.here;
      const of_gap = by.value === "gap";
      const title = of_gap ? "gap, ms<br>(more: later)" : "ms lost<br>on a metre";
      const values = (of_gap ? h.gap_ms : h.grows_ms_per_m).map((g) => g ?? 0);
      const most = Math.max(0.05, ...values.map(Math.abs));
      // the gap from its least to its greatest in this corner; what is lost on a metre to both sides of nothing
      const [low, high] = of_gap ? [Math.min(...values), Math.max(...values)] : [-most, most];
      const colour = values.length === 0 ? { color: "#c8371f" } : {
        color: values, cmin: low, cmax: Math.max(high, low + 0.1),
        colorscale: of_gap ? [[0, "#f0d48a"], [0.5, "#d9782f"], [1, "#7d1408"]] : [[0, "#0f6b57"], [0.5, "#f3e9c9"], [1, "#c8371f"]],
        showscale: true, colorbar: { title: { text: title }, thickness: 12, len: 0.7 },
      };
      traces.push({ ...flat, x: h.x, y: h.y, z: above(h.z, 0.06), line: { width: 7, ...colour } });
    }
    // which way is down, and which side is left: at both ends of the stretch, on its edges
    const end = told.x.length - 1;
    const wide = told.x[0].length - 1;
    const middle = Math.round(0.3 * end);
    const spots = [[0, wide / 2, "in, downhill"], [end, wide / 2, "out"], [middle, wide, "left"], [middle, 0, "right"]];
    const at = (list) => spots.map(([i, j]) => list[i][Math.round(j)]);
    traces.push({
      type: "scatter3d", mode: "text", hoverinfo: "skip", x: at(told.x), y: at(told.y), z: at(told.z).map((v, k) => v + (k < 2 ? 4 : 0)),
      text: spots.map((s) => s[2]), textposition: ["top center", "top center", "top center", "bottom center"], textfont: { size: 13, color: "#17333d" },
    });
    traces.push({ type: "scatter3d", mode: "markers", hoverinfo: "skip", ...ball(), marker: { size: 5, color: "#17333d" } });
    // where the place is narrow, from farther away
    const far = farness();
    seenFrom = far;
    const plain = { title: { text: "" }, showticklabels: false, showspikes: false, gridcolor: "#dfe8ea", zeroline: false };
    Plotly.react(place, traces, {
      margin: { l: 0, r: 0, t: 0, b: 0 }, showlegend: false, paper_bgcolor: "#fff", uirevision: `${choice.value} ${far}`,
      scene: { aspectmode: "data", xaxis: plain, yaxis: plain, zaxis: plain,
        camera: { eye: { x: -1.1 * far, y: -1.3 * far, z: far }, center: { x: 0, y: 0, z: -0.15 } } },
    }, { displayModeBar: false });
    note.textContent = told.here === null ? "the lines follow with the full answer"
      : told.here.grows_ms_per_m.length === 0 ? "this is the pinned set-up: one line" : "both planned rides, lifted 4 and 6 cm off the ice to be seen";
  }

  async function refresh() {
    if (!visible || track === null || asked === null) return;
    if (!able()) {
      note.textContent = "this browser draws nothing in space (WebGL is off)";
      return;
    }
    const corner = track.corners.find((c) => c.name === choice.value) ?? track.corners[0];
    const body = JSON.stringify({
      here: asked.here, pinned: asked.pinned, from_m: Math.max(corner.entry_m - BESIDE_M, track.station_m[0]),
      to_m: Math.min(corner.exit_m + BESIDE_M, track.finish_m),
    });
    if (body === drawn) return;
    drawn = body;
    const response = await fetch("/api/ice", { method: "POST", headers: { "content-type": "application/json" }, body });
    const told = await response.json();
    if (!response.ok) note.textContent = told.error;
    else if (body === drawn) draw(told);
  }

  // fitted to a new size once; drawn anew only where it is seen from another distance
  let fitted = "";
  new ResizeObserver(() => {
    const size = `${place.clientWidth} ${place.clientHeight}`;
    if (!visible || shown === null || place.clientWidth === 0 || size === fitted) return;
    fitted = size;
    if (farness() !== seenFrom) draw(shown);
    Plotly.Plots.resize(place);
  }).observe(place);

  choice.addEventListener("change", () => {
    const corner = track.corners.find((c) => c.name === choice.value);
    Charts.cursor((corner.entry_m + Math.min(corner.exit_m, track.finish_m)) / 2);
    refresh();
  });

  by.addEventListener("change", () => { if (shown !== null) draw(shown); });

  return {
    track: corners,
    answered: (question) => { asked = question; refresh(); },
    shown: (is) => {
      visible = is;
      if (!is) return;
      const corner = track && station !== null && track.corners.find((c) => c.entry_m <= station && station <= c.exit_m);
      if (corner) choice.value = corner.name;
      refresh();
    },
    cursor: (to) => {
      station = to;
      if (visible && lines !== null && place.data) {
        const { x, y, z } = ball();
        Plotly.restyle(place, { x: [x], y: [y], z: [z] }, [place.data.length - 1]);
      }
    },
  };
})();
