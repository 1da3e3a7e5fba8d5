// Charts over the station: one figure of strips that share their axis, and one cursor through all of them.
"use strict";

const Charts = (() => {
  const place = document.getElementById("curves");
  const STRIPS = [
    { name: "gap_ms", title: "gap to pinned, ms (above 0: later)", digits: 0 },
    { name: "speed_km_h", title: "speed, km/h", digits: 1 },
    { name: "g_load", title: "load, g (bars: rides with mistakes)", digits: 2 },
    { name: "height_m", title: "height on the bank, m", digits: 2 },
    { name: "slip_deg", title: "slip, deg (above 0: left)", digits: 2 },
    { name: "steer", title: "steering (−1 left, 1 right)", digits: 2 },
    { name: "touch_m", title: "runners touch the ice over, m", digits: 3 },
  ];
  const HERE = "#c8371f", PINNED = "#5c7480", ROUGH = "#c98a12", INK = "#17333d", BAND = "rgba(23,51,61,0.055)";
  const ROOM = { l: 38, r: 10, t: 30, b: 36 };
  const GAP = 0.036;
  let track = null;
  let curves = null, pinned = null, gap = null, loads = null;
  let known = null;    // the pinned curves that came last, and of which ride
  let station = null;
  let drawn = false;
  let moved = () => {};

  const domain = (i) => {
    const high = (1 - GAP * (STRIPS.length - 1)) / STRIPS.length;
    const top = 1 - i * (high + GAP);
    return [Math.max(top - high, 0), top];
  };
  const axis = (i) => i === 0 ? "y" : `y${i + 1}`;

  function layout(ranges) {
    const l = {
      margin: ROOM, showlegend: false, hovermode: false, dragmode: "zoom", paper_bgcolor: "#fff",
      plot_bgcolor: "#fff", font: { family: "system-ui, sans-serif", size: 11, color: INK }, uirevision: "keep",
      xaxis: {
        title: { text: "station, m", standoff: 9 }, anchor: axis(STRIPS.length - 1), zeroline: false, ticks: "outside", ticklen: 4, tickcolor: "rgba(0,0,0,0)",
        gridcolor: "#e3eaec", range: [0, track.finish_m],
      },
      shapes: track.corners.filter((c) => c.entry_m < track.finish_m).map((c) => ({
        type: "rect", xref: "x", yref: "paper", x0: c.entry_m, x1: Math.min(c.exit_m, track.finish_m), y0: 0, y1: 1,
        fillcolor: BAND, line: { width: 0 }, layer: "below",
      })),
      annotations: track.corners.filter((c) => c.entry_m < track.finish_m).map((c) => ({
        x: (c.entry_m + Math.min(c.exit_m, track.finish_m)) / 2, y: 1, xref: "x", yref: "paper", yanchor: "bottom", yshift: 11,
        text: c.name, showarrow: false, font: { size: 10, color: PINNED },
      })),
    };
    STRIPS.forEach((s, i) => {
      l[i === 0 ? "yaxis" : `yaxis${i + 1}`] = {
        domain: domain(i), fixedrange: true, range: ranges[i], zeroline: ["gap_ms", "slip_deg", "steer"].includes(s.name),
        zerolinecolor: "#9db0b7", gridcolor: "#eef3f4", nticks: 4, tickfont: { size: 10 },
      };
      l.annotations.push({
        x: 0, y: domain(i)[1], xref: "paper", yref: "paper", xanchor: "left", yanchor: "bottom", yshift: -3,
        text: s.title, showarrow: false, font: { size: 10.5, color: INK },
      });
    });
    return l;
  }

  function traces(rough) {
    const list = [];
    STRIPS.forEach((s, i) => {
      const own = s.name === "gap_ms" ? gap : curves[s.name];
      const other = s.name === "gap_ms" ? null : pinned && pinned[s.name];
      list.push({
        x: pinned ? pinned.station_m : [], y: other || [], mode: "lines", yaxis: axis(i),
        line: { color: PINNED, width: 1.3, dash: "5px,2.5px" },
      });
      list.push({
        x: own ? curves.station_m : [], y: own || [], mode: "lines", yaxis: axis(i), uid: `own${i}`,
        line: { color: rough ? ROUGH : HERE, width: 1.5 },
      });
    });
    // bars of a little way apart, so that both are seen
    const bars = (rows, aside) => ({
      x: rows.flatMap((r) => [r[0] + aside, r[0] + aside, null]), y: rows.flatMap((r) => [r[1], r[2], null]),
    });
    const of = STRIPS.findIndex((s) => s.name === "g_load");
    for (const [uid, rows, aside, color] of [["barspinned", loads ? loads.pinned : [], -4, PINNED], ["ownbars", loads ? loads.here : [], 4, INK]]) {
      list.push({ ...bars(rows, aside), uid, mode: "lines", yaxis: axis(of), line: { color, width: 3.5 }, opacity: 0.85 });
    }
    return list;
  }

  // line and values of the cursor lie over the figure, so that moving them redraws nothing
  const line = document.createElement("div");
  line.className = "cursor-line";
  const values = STRIPS.map((s) => {
    const v = document.createElement("div");
    v.className = "cursor-value";
    v.dataset.strip = s.name;
    return v;
  });

  function near(stations, wanted) {
    let [low, high] = [0, stations.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (stations[middle] <= wanted) low = middle; else high = middle;
    }
    return wanted - stations[low] < stations[high] - wanted ? low : high;
  }

  const said = (v, digits) => v === null || v === undefined ? "–" : v.toFixed(digits).replace("-", "−");

  function showCursor() {
    if (!drawn || station === null || !curves) return;
    const full = place._fullLayout;
    const x = full.xaxis.l2p(station);
    const inside = x >= 0 && x <= full.xaxis._length;
    line.hidden = !inside;
    line.style.left = `${full._size.l + x}px`;
    line.style.top = `${full._size.t}px`;
    line.style.height = `${full._size.h}px`;
    const i = near(curves.station_m, station);
    const j = pinned ? near(pinned.station_m, station) : -1;
    STRIPS.forEach((s, k) => {
      const own = said(s.name === "gap_ms" ? gap && gap[i] : curves[s.name][i], s.digits);
      const other = s.name === "gap_ms" || j < 0 ? "" : ` | ${said(pinned[s.name][j], s.digits)}`;
      values[k].textContent = own + other;
      values[k].style.top = `${full._size.t + (1 - domain(k)[1]) * full._size.h - 15}px`;
      values[k].style.right = `${full._size.r + 3}px`;
    });
    moved(station, i);
  }

  function cursor(to) {
    if (!track) return;
    station = Math.min(Math.max(to, track.station_m[0]), track.finish_m);
    showCursor();
  }

  function pointed(event) {
    if (!drawn) return;
    const full = place._fullLayout;
    const x = event.clientX - place.getBoundingClientRect().left - full._size.l;
    if (x >= 0 && x <= full.xaxis._length) cursor(full.xaxis.p2l(x));
  }
  place.addEventListener("pointermove", pointed);
  place.addEventListener("pointerdown", pointed);
  place.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -2, ArrowRight: 2 }[event.key];
    if (step === undefined || station === null) return;
    cursor(station + step * (event.shiftKey ? 10 : 1));
    event.preventDefault();
  });

  const kept = STRIPS.map(() => null);

  // least and greatest of a strip over both curves with room beside; kept as long as the curves fit and fill it, and
  // while a hand moves only widened, so that moves to and fro redraw the curves alone
  function range(s, i, rough) {
    const both = s.name === "gap_ms" ? [gap ?? []] : [curves[s.name], pinned ? pinned[s.name] : []];
    if (s.name === "g_load" && loads) both.push([...loads.here, ...loads.pinned].map((r) => r[2]));
    let [low, high] = s.name === "gap_ms" || s.name === "slip_deg" ? [0, 0] : [Infinity, -Infinity];
    for (const list of both) {
      for (const v of list) {
        if (v === null) continue;
        low = Math.min(low, v);
        high = Math.max(high, v);
      }
    }
    if (!(low <= high)) [low, high] = [0, 1];
    // a gap of less than this is none to look at
    const span = Math.max(high - low, s.name === "gap_ms" ? 10 : 1e-3);
    const old = kept[i];
    const shrunk = span < 0.25 * ((old ?? [0, 0])[1] - (old ?? [0, 0])[0]);
    if (old === null || low < old[0] || high > old[1] || (shrunk && !rough)) {
      const room = (s.name === "gap_ms" ? 0.3 : 0.06) * span;
      const wanted = [low === 0 ? -0.04 * span : low - room, high + room];
      const widened = old !== null && (rough || !shrunk);
      kept[i] = widened ? [Math.min(wanted[0], old[0]), Math.max(wanted[1], old[1])] : wanted;
    }
    return kept[i];
  }

  let frame = "";   // what the figure around the curves was drawn for
  let inked = false;      // whether its curves are in the colour of a quick answer
  let sketched = false;   // the present curves lie on the canvas alone

  // the quick curves lie on a canvas over the figure: a twentieth of the time that the figure takes for them
  const canvas = document.createElement("canvas");
  canvas.className = "sketch";

  function sketch() {
    const full = place._fullLayout;
    const fine = window.devicePixelRatio || 1;
    const [wide, high] = [place.clientWidth, place.clientHeight];
    if (canvas.width !== Math.round(wide * fine) || canvas.height !== Math.round(high * fine)) {
      canvas.width = Math.round(wide * fine);
      canvas.height = Math.round(high * fine);
    }
    const ink = canvas.getContext("2d");
    ink.setTransform(fine, 0, 0, fine, 0, 0);
    ink.clearRect(0, 0, wide, high);
    if (!sketched) return;
    ink.strokeStyle = ROUGH;
    ink.lineWidth = 1.5;
    ink.lineJoin = "round";
    const left = full._size.l;
    const x = full.xaxis;
    STRIPS.forEach((s, i) => {
      const own = s.name === "gap_ms" ? gap : curves[s.name];
      if (!own) return;
      const y = full[i === 0 ? "yaxis" : `yaxis${i + 1}`];
      ink.save();
      ink.beginPath();
      ink.rect(left, y._offset, x._length, y._length);
      ink.clip();
      ink.beginPath();
      let down = false;
      for (let k = 0; k < own.length; k += 1) {
        if (own[k] === null) {
          down = false;
          continue;
        }
        const [px, py] = [left + x.l2p(curves.station_m[k]), y._offset + y.l2p(own[k])];
        if (down) ink.lineTo(px, py); else ink.moveTo(px, py);
        down = true;
      }
      ink.stroke();
      ink.restore();
    });
  }

  // gives when it is drawn
  async function draw(answer) {
    curves = answer.curves;
    // a quick answer leaves out the curves of the pinned set-up that are here already
    if (answer.pinned_curves !== null) known = { of: answer.pinned_of, curves: answer.pinned_curves };
    pinned = answer.is_pinned || known === null || known.of !== answer.pinned_of ? null : known.curves;
    gap = answer.gap;
    loads = answer.loads;
    const rough = answer.rough !== null;
    const ranges = STRIPS.map((s, i) => range(s, i, rough));
    const wanted = JSON.stringify([ranges, pinned !== null && pinned.station_m.length]);
    if (drawn && rough && wanted === frame) {
      sketched = true;
      place.classList.add("is-sketched");
      sketch();
      if (station !== null) showCursor();
      return;
    }
    sketched = false;
    const all = traces(rough);
    if (drawn && wanted === frame && inked === rough) {
      // the curves alone: half the time of a whole figure
      const data = all.map((t) => ({ x: t.x, y: t.y }));
      const how = { mode: "immediate", transition: { duration: 0 }, frame: { duration: 0, redraw: false } };
      await Plotly.animate(place, { data, traces: all.map((_, i) => i) }, how).catch(() => { frame = ""; });
    } else {
      frame = wanted;
      inked = rough;
      await Plotly.react(place, all, layout(ranges), { displayModeBar: false, doubleClick: "reset" });
    }
    if (!drawn) {
      drawn = true;
      place.append(canvas, line, ...values);
      place.on("plotly_relayout", showCursor);
      place.on("plotly_afterplot", () => {
        showCursor();
        sketch();
      });
      new ResizeObserver(() => Plotly.Plots.resize(place)).observe(place);
    }
    sketch();
    place.classList.toggle("is-sketched", sketched);
    if (station === null) station = track.finish_m / 2;
    showCursor();
  }

  // a picture has the curves in the figure itself
  async function whole() {
    if (!sketched) return;
    sketched = false;
    place.classList.remove("is-sketched");
    await Plotly.react(place, traces(true), layout(STRIPS.map((s, i) => range(s, i, true))), { displayModeBar: false, doubleClick: "reset" });
    sketch();
  }

  return {
    track: (t) => { track = t; },
    draw,
    cursor,
    again: showCursor,
    onMove: (f) => { moved = f; },
    at: (i) => ({ offset_m: curves.offset_m[i], outside: curves.outside[i] }),
    png: (name) => whole().then(() => Plotly.downloadImage(place, { format: "png", width: 1400, height: 1050, filename: name })),
  };
})();
