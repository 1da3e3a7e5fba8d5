// What is asked when: a quick answer while a hand moves, the full one when it rests.
"use strict";

(() => {
  const data = document.body.dataset;
  data.view = "bench";
  const part = (id) => document.getElementById(id);
  const windowName = `w-${crypto.getRandomValues(new Uint32Array(2)).join("-")}`;
  const REST_MS = 250;
  let number = 0;
  let current = null;    // the newest question without a fault
  let pinned = null;
  let busy = false;      // a quick question is out
  let waiting = false;   // a newer one waits for it
  let rest = null;
  let track = null;

  async function ask(address, body) {
    const response = await fetch(address, {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
    });
    return { ok: response.ok, response };
  }

  const question = () => ({
    window: windowName, number, here: Controls.asked(), pinned,
    rides: Controls.rides(), seed: Controls.seed(),
  });

  async function quick() {
    if (busy) {
      waiting = true;
      return;
    }
    busy = true;
    const { number: asked } = current;
    try {
      const { ok, response } = await ask("/api/rough", current);
      const told = await response.json();
      if (!ok) Answer.trouble(told.error);
      else if (told.superseded !== true && told.number >= asked) show(told);
    } catch (why) {
      Answer.trouble(`the program does not answer (${why.message}); is it still running?`);
    }
    busy = false;
    if (waiting) {
      waiting = false;
      quick();
    }
  }

  let shown = { number: 0, full: false };
  function show(told) {
    const full = told.rough === null;
    // a quick answer never takes the place of the full one of the same question
    if (told.number < shown.number || (told.number === shown.number && shown.full && !full)) return;
    shown = { number: told.number, full };
    Answer.show(told);
    if (full) {
      Answer.progress(told.doing);
      Ice.answered(current);
      Line.answered(current, told.doing);
    }
  }

  function changed() {
    clearTimeout(rest);
    number += 1;
    data.asked = number;
    // fields are looked at here first, so that the server is not asked what it must refuse
    const wrong = Controls.wrong();
    if (wrong !== null) {
      Answer.trouble(wrong);
      Answer.progress(["waits for a number that is allowed", 0, 1]);
      return;
    }
    current = question();
    Answer.progress(["the full answer follows once the hand rests", 0, 1]);
    quick();
    rest = setTimeout(full, REST_MS);
  }

  // a connection may be closed just when it is used again: asked once more, the answer is the same
  async function patient(address) {
    for (let tries = 0; ; tries += 1) {
      try {
        return await (await fetch(address)).json();
      } catch (why) {
        if (tries === 2) throw why;
        await new Promise((done) => { setTimeout(done, 300); });
      }
    }
  }

  async function full() {
    const asked = current.number;
    try {
      const { ok, response } = await ask("/api/full", current);
      if (!ok) {
        Answer.trouble((await response.json()).error);
        return;
      }
      let since = 0;
      while (asked === number) {
        const news = await patient(`/api/answer?window=${windowName}&number=${asked}&since=${since}`);
        if (asked !== number) return;
        since = news.version;
        const told = news.told;
        if (told === null) continue;
        if (told.error !== undefined) {
          Answer.trouble(told.error);
          Answer.progress(["no full answer", 0, 1]);
          return;
        }
        if (told.curves === undefined) {
          Answer.progress(told.doing);
          continue;
        }
        show(told);
        if (told.doing === null) return;
      }
    } catch (why) {
      Answer.trouble(`the program does not answer (${why.message}); is it still running?`);
    }
  }

  function pin() {
    pinned = Controls.asked();
    const pair = Controls.pair() === "" ? [] : [`pair ${Controls.pair()}`];
    const moved = pair.concat(pinned.sets.filter(([key]) => key !== "name").map(([key, value]) => `${key.split(".").pop()} ${value}`)).join(", ");
    part("pinned-name").textContent = moved === "" ? "as opened" : moved;
    changed();
  }

  function save(text, name, kind) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: kind }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }

  async function download(address, name, kind) {
    const { ok, response } = await ask(address, Controls.asked());
    if (ok) save(await response.text(), name, kind);
    else Answer.trouble((await response.json()).error);
  }

  part("pin").addEventListener("click", pin);
  part("back").addEventListener("click", () => Controls.back());
  part("save").addEventListener("click", () => download("/api/save", "set-up.toml", "text/plain"));
  part("csv").addEventListener("click", () => download("/api/trace", "trace.csv", "text/csv"));
  part("png").addEventListener("click", () => Charts.png("sled-bench"));
  part("open").addEventListener("change", async (event) => {
    const chosen = event.target.files[0];
    if (!chosen) return;
    if (chosen.size > 65536) {
      Answer.trouble(`${chosen.name}: ${chosen.size} bytes; a set-up has at most 65536`);
      return;
    }
    const file = { name: chosen.name, text: await chosen.text() };
    const { ok, response } = await ask("/api/setup", file);
    const told = await response.json();
    event.target.value = "";
    if (!ok) {
      Answer.trouble(told.error);
      return;
    }
    data.name = told.name;
    Controls.open(told.values, file, []);
    pin();
  });

  part("pair-open").addEventListener("change", async (event) => {
    const chosen = event.target.files[0];
    if (!chosen) return;
    if (chosen.size > 65536) {
      Answer.trouble(`${chosen.name}: ${chosen.size} bytes; a library has at most 65536`);
      return;
    }
    const { ok, response } = await ask("/api/pairs", { name: chosen.name, text: await chosen.text() });
    const told = await response.json();
    event.target.value = "";
    if (ok) Controls.pairs(told);
    else Answer.trouble(told.error);
  });

  for (const button of document.querySelectorAll("nav button")) {
    button.addEventListener("click", () => {
      data.view = button.dataset.view;
      for (const other of document.querySelectorAll("nav button")) {
        other.setAttribute("aria-pressed", String(other === button));
      }
      Ice.shown(data.view === "ice");
      Evidence.shown(data.view === "evidence");
      Line.shown(data.view === "line");
    });
  }

  Charts.onMove((station, i) => {
    Plan.cursor(station);
    Ice.cursor(station);
    const corner = track.corners.find((c) => c.entry_m <= station && station <= c.exit_m);
    const at = Charts.at(i);
    const side = at.offset_m === null ? "" : `, ${Math.abs(at.offset_m).toFixed(2)} m ${at.offset_m < 0 ? "right" : "left"} of the reference line`;
    const outside = at.outside === null ? "" : `, ${(100 * at.outside).toFixed(0)} % of a runner's load outside the bow screws`;
    part("at").textContent = `station ${station.toFixed(0)} m, ${corner ? `corner ${corner.name}` : "no corner"}${side}${outside}`;
    part("at").dataset.station = station.toFixed(2);
    if (document.body.dataset.state !== "rough") Ink.at(current.here, station);
    else part("ink").classList.add("stale");
  });

  async function begin() {
    track = await (await fetch("/api/track")).json();
    Plan.draw(track);
    Charts.track(track);
    Ice.track(track);
    Line.track(track);
    Controls.onChange(changed);
    Controls.open(JSON.parse(data.values), null, JSON.parse(data.sets));
    pin();
  }
  begin().catch((why) => Answer.trouble(`the program does not answer (${why.message}); is it still running?`));
})();
