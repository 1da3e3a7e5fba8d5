// Plan of the track, seen from above, with a dot where the cursor is.
"use strict";

const makePlan = (id, width, high) => {
  const NS = "http://www.w3.org/2000/svg";
  const place = document.getElementById(id);
  let track = null;
  let dot = null;
  let toScreen = null;

  const element = (name, attributes, text) => {
    const e = document.createElementNS(NS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (text !== undefined) e.textContent = text;
    return e;
  };

  function at(station) {
    const s = track.station_m;
    const last = s.length - 1;
    const x = Math.min(Math.max((station - s[0]) / (s[last] - s[0]) * last, 0), last);
    const i = Math.min(Math.floor(x), last - 1);
    return [0, 1, 2].map((k) => track.points_m[i][k] + (x - i) * (track.points_m[i + 1][k] - track.points_m[i][k]));
  }

  function path(from, to) {
    const inside = track.station_m.filter((s) => s > from && s < to);
    return [from, ...inside, to].map((s) => toScreen(at(s)).map((v) => v.toFixed(1)).join(",")).join(" ");
  }

  function draw(t) {
    track = t;
    const room = 15;
    // the long way of the track lies along the panel
    const raw = t.points_m;
    const mean = [0, 1].map((k) => raw.reduce((a, p) => a + p[k], 0) / raw.length);
    let xx = 0, xy = 0, yy = 0;
    for (const p of raw) {
      const [x, y] = [p[0] - mean[0], p[1] - mean[1]];
      xx += x * x; xy += x * y; yy += y * y;
    }
    const turn = 0.5 * Math.atan2(2 * xy, xx - yy);
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const flat = (p) => [c * (p[0] - mean[0]) + s * (p[1] - mean[1]), -s * (p[0] - mean[0]) + c * (p[1] - mean[1])];
    const all = raw.map(flat);
    const [xs, ys] = [0, 1].map((k) => all.map((p) => p[k]));
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const scale = Math.min((width - 2 * room) / (x1 - x0), (high - 2 * room) / (y1 - y0));
    const height = Math.max(scale * (y1 - y0) + 2.4 * room, 70);
    toScreen = (p) => {
      const [x, y] = flat(p);
      return [width / 2 + scale * (x - (x0 + x1) / 2), height / 2 - scale * (y - (y0 + y1) / 2)];
    };
    const svg = element("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": "Plan of the track" });
    const [begin, finish] = [t.station_m[0], t.station_m[t.station_m.length - 1]];
    svg.append(element("polyline", { points: path(begin, finish), class: "way" }));
    for (const corner of t.corners) {
      const to = Math.min(corner.exit_m, finish);
      if (corner.entry_m >= to) continue;
      const bend = element("polyline", { points: path(corner.entry_m, to), class: `bend ${corner.hand}` });
      bend.append(element("title", {}, `corner ${corner.name}, ${corner.hand}`));
      svg.append(bend);
    }
    for (const corner of t.corners) {
      const middle = (corner.entry_m + Math.min(corner.exit_m, finish)) / 2;
      const [a, b, m] = [middle - 1, middle + 1, middle].map((v) => toScreen(at(v)));
      const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
      // outside of the bend
      const side = corner.hand === "left" ? -1 : 1;
      const [nx, ny] = [side * (b[1] - a[1]) / long, -side * (b[0] - a[0]) / long];
      svg.append(element("text", { x: m[0] + 11 * nx, y: m[1] + 11 * ny + 4, class: "name" }, corner.name));
    }
    // which way is down
    for (const share of [0.04, 0.3, 0.6, 0.9]) {
      const here = begin + share * (finish - begin);
      const [[ax, ay], [bx, by]] = [here - 1, here + 1].map((v) => toScreen(at(v)));
      const long = Math.hypot(bx - ax, by - ay) || 1;
      const [ux, uy] = [(bx - ax) / long, (by - ay) / long];
      const [mx, my] = toScreen(at(here));
      const corner = (along, side) => `${(mx + along * ux - side * uy).toFixed(1)},${(my + along * uy + side * ux).toFixed(1)}`;
      const arrow = element("polygon", { points: [corner(5, 0), corner(-3.5, 4), corner(-3.5, -4)].join(" "), class: "arrow" });
      arrow.append(element("title", {}, "downhill"));
      svg.append(arrow);
    }
    const [sx, sy] = toScreen(at(begin));
    const [fx, fy] = toScreen(at(finish));
    svg.append(element("circle", { cx: sx, cy: sy, r: 3, class: "end" }), element("circle", { cx: fx, cy: fy, r: 3, class: "end" }));
    svg.append(element("text", { x: Math.max(sx, 14), y: sy + 14, class: "end-name" }, "start"));
    svg.append(element("text", { x: Math.min(fx, width - 16), y: fy + 14, class: "end-name" }, "finish"));
    dot = element("circle", { r: 5.5, class: "dot", cx: sx, cy: sy });
    svg.append(dot);
    place.replaceChildren(svg);
  }

  return {
    draw,
    cursor: (station) => {
      if (!track) return;
      const [x, y] = toScreen(at(station));
      dot.setAttribute("cx", x);
      dot.setAttribute("cy", y);
    },
  };
};

const Plan = makePlan("plan", 250, 150);
