// A track as dropped or typed: faults by line and column, else plan, profile and corners, which follow the typing.
"use strict";

const TrackCheck = (() => {
  const part = (id) => document.getElementById(id);
  const NS = "http://www.w3.org/2000/svg";
  const plan = makePlan("track-plan", 520, 240);
  const text = part("track-text");
  const LARGEST = 200000;
  let files = null;    // two files as dropped; null: the corner list as typed
  let rest = null;
  let asked = 0;

  const element = (name, attributes, words) => {
    const e = document.createElementNS(NS, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (words !== undefined) e.textContent = words;
    return e;
  };

  function list(id, lines) {
    part(id).replaceChildren(...lines.map((line) => {
      const item = document.createElement("li");
      item.textContent = line;
      return item;
    }));
  }

  // elevation over the way along the track, start to the left
  function profile(t) {
    const width = 520, height = 110, room = 16;
    const z = t.points_m.map((p) => p[2]);
    const [low, high] = [Math.min(...z), Math.max(...z)];
    const [first, last] = [t.station_m[0], t.station_m[t.station_m.length - 1]];
    const x = (s) => room + (width - 2 * room) * (s - first) / (last - first);
    const y = (v) => room + (height - 2.2 * room) * (high - v) / (high - low || 1);
    const svg = element("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": "Profile of the track" });
    for (const c of t.corners) {
      svg.append(element("rect", { x: x(c.entry_m), y: 4, width: Math.max(x(Math.min(c.exit_m, last)) - x(c.entry_m), 0), height: height - 20, class: "profile-band" }));
      svg.append(element("text", { x: x((c.entry_m + Math.min(c.exit_m, last)) / 2), y: height - 5, class: "name" }, c.name));
    }
    svg.append(element("polyline", { points: t.station_m.map((s, i) => `${x(s).toFixed(1)},${y(z[i]).toFixed(1)}`).join(" "), class: "profile" }));
    svg.append(element("text", { x: width - room, y: 14, class: "end-name right" }, `downhill \u2192, drop ${(high - low).toFixed(1)} m on ${(last - first).toFixed(0)} m of track`));
    part("track-profile").replaceChildren(svg);
  }

  // a fault is clicked: the cursor goes to its line and column
  function faultPlaces(places) {
    Grid.mark(places.map(([line]) => line));
    [...part("track-faults").children].forEach((item, i) => {
      const [line, column] = places[i] ?? [null, null];
      if (line === null || files !== null) return;
      item.tabIndex = 0;
      item.classList.add("to-place");
      item.onclick = () => {
        edit("text");
        const before = text.value.split("\n").slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
        const whole = text.value.split("\n")[line - 1].length;
        text.focus();
        text.setSelectionRange(before + (column ?? 1) - 1, before + whole);
        text.scrollTop = text.scrollHeight * (line - 6) / text.value.split("\n").length;
      };
      item.onkeydown = (event) => { if (event.key === "Enter") item.onclick(); };
    });
  }

  function speeds(told) {
    part("track-speeds").hidden = told.speeds === null;
    list("track-far", told.far.map((f) => `far from it: ${f}`));
    if (told.speeds === null) return;
    part("track-speed-table").replaceChildren(Parts.table(told.speeds));
    part("track-take").onclick = () => Grid.take(told.speeds.rows.map((r) => [r[0], [r[4], r[5]]]));
  }

  // the list as a table or as text; both are the same list
  function edit(how) {
    text.hidden = how !== "text";
    part("track-grid").hidden = how === "text";
    for (const button of document.querySelectorAll("#track-view [data-edit]")) button.setAttribute("aria-pressed", String(button.dataset.edit === how));
    if (how === "table") Grid.show();
  }
  for (const button of document.querySelectorAll("#track-view [data-edit]")) button.addEventListener("click", () => edit(button.dataset.edit));
  // invented: a straight, a corner, a straight
  const OWN = ["name = \"My track\"", "altitude_m = 500", "latitude_deg = 50", "quality = \"approximate\"", "source = \"my own notes\"",
    "", "[[elements]]", "straight_m = 100", "grade_percent = 8", "", "[[elements]]", "corner = \"1\"", "hand = \"left\"", "radius_m = 40",
    "angle_deg = 60", "transition_in_m = 30", "design_speed_km_h = 60", "grade_percent = 9", "", "[[elements]]", "straight_m = 60", "grade_percent = 6",
    "", "[[eyes]]", "name = \"start\"", "station_m = 15", "", "[[eyes]]", "name = \"start time\"", "station_m = 65", "",
    "[[eyes]]", "name = \"finish\"", "station_m = 200", ""].join("\n");
  part("track-begin").addEventListener("click", () => {
    text.value = OWN;
    Grid.show();
    typed();
  });
  Grid.onChange(() => typed());
  part("track-save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text.value], { type: "text/plain" }));
    link.download = "corner_list.toml";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  });

  function show(told) {
    const faults = told.faults ?? [];
    part("track-none").hidden = true;
    if (faults.length === 0) part("track-drawn").hidden = false;
    part("track-head").textContent = faults.length > 0 ? `${faults.length} fault${faults.length > 1 ? "s" : ""}` : told.head;
    part("track-head").classList.toggle("warned", faults.length > 0);
    list("track-faults", faults);
    faultPlaces(told.places ?? []);
    list("track-doubts", (told.doubts ?? []).map((d) => `doubtful: ${d}`));
    part("track-drawn").classList.toggle("stale", faults.length > 0);
    if (faults.length > 0) return;
    plan.draw(told.track);
    profile(told.track);
    speeds(told);
    part("track-corners").querySelector("tbody").replaceChildren(...told.corners.map((cells) => {
      const row = document.createElement("tr");
      cells.forEach((c, i) => {
        const cell = document.createElement(i === 0 ? "th" : "td");
        cell.textContent = c;
        row.append(cell);
      });
      return row;
    }));
  }

  // what befalls a sled left alone: asked once the track rests without a fault; the newest answer counts
  let aloneRest = null;
  const alone = { body: "" };
  function leftAlone(body, fine) {
    clearTimeout(aloneRest);
    part("track-alone").hidden = !fine;
    if (!fine || body === alone.body) return;
    part("track-alone-doing").textContent = "waits until you rest";
    part("track-warnings").classList.add("stale");
    aloneRest = setTimeout(() => ride(body), 800);
  }

  async function ride(body) {
    alone.body = body;
    part("track-alone-doing").textContent = "riding: the runners are solved for this, which takes some seconds";
    let warnings = [];
    let said = "";
    try {
      const { ok, told } = await Parts.ask("/api/left-alone", JSON.parse(body));
      if (body !== alone.body) return;
      if (ok) warnings = told.warnings;
      said = !ok ? told.error : warnings.length > 0 ? "" : "No warning: it comes down and touches no wall hard, and no timing eye stands in a corner.";
    } catch (why) {
      alone.body = "";
      said = Parts.gone(why);
    }
    part("track-alone-doing").textContent = said;
    part("track-warnings").classList.remove("stale");
    list("track-warnings", warnings.map((w) => `warning: ${w}`));
    drop.dataset.alone = String(Number(drop.dataset.alone ?? 0) + 1);
  }

  async function check() {
    asked += 1;
    const own = asked;
    const body = JSON.stringify({ files: files ?? [{ name: "corner list", text: text.value }] });
    try {
      const response = await fetch("/api/check-track", { method: "POST", headers: { "content-type": "application/json" }, body });
      const told = await response.json();
      if (own !== asked) return;
      show(response.ok ? told : { faults: [told.error] });
      drop.dataset.checked = String(Number(drop.dataset.checked ?? 0) + 1);
      leftAlone(body, response.ok && (told.faults ?? []).length === 0);
    } catch (why) {
      show({ faults: [`the program does not answer (${why.message}); is it still running?`] });
    }
  }

  async function take(chosen) {
    const all = [...chosen];
    const large = all.find((f) => f.size > LARGEST);
    if (large) {
      show({ faults: [`${large.name}: ${large.size} bytes; allowed are ${LARGEST}`] });
      return;
    }
    const read = await Promise.all(all.map(async (f) => ({ name: f.name, text: await f.text() })));
    if (read.length === 1) {
      files = read[0].name.toLowerCase().endsWith(".csv") ? read : null;
      if (files === null) text.value = read[0].text;
      Grid.show();
    } else {
      files = read;
    }
    part("track-from").textContent = files === null ? "a corner list, edited below" : read.map((f) => f.name).join(", ");
    check();
  }

  function typed() {
    files = null;
    part("track-from").textContent = "a corner list, edited below";
    clearTimeout(rest);
    rest = setTimeout(check, 250);
  }
  text.addEventListener("input", typed);
  part("track-open").addEventListener("change", (event) => {
    take(event.target.files);
  });
  const drop = part("track-view");
  drop.addEventListener("dragover", (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    drop.classList.remove("over");
    if (event.dataTransfer.files.length > 0) take(event.dataTransfer.files);
  });

  return { check };
})();
