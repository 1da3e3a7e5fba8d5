// The evening: readings are read as they are typed, the sheet is asked for, and opened to be printed.
"use strict";

(() => {
  const part = (id) => document.getElementById(id);
  let rest = null;
  let asked = 0;

  const question = () => ({
    here: Controls.asked(), plan: part("evening-plan").value,
    readings: part("evening-readings").value, readings_without_bow: part("evening-without").value,
  });

  async function ask(address, body) {
    const how = body === undefined ? {} : { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) };
    const response = await fetch(address, how);
    return { ok: response.ok, told: await response.json() };
  }

  // tables keep their columns, sentences are broken where the page ends
  function say(text, wrong) {
    part("evening-told").replaceChildren(...text.split("\n").map((line) => {
      const row = document.createElement("span");
      row.className = /\S {2}/.test(line) ? "row" : "row prose";
      row.textContent = `${line}\n`;
      return row;
    }));
    part("evening-told").classList.toggle("warned", wrong);
  }

  async function readings() {
    asked += 1;
    const own = asked;
    if (part("evening-readings").value.trim() === "") return;
    const { ok, told } = await ask("/api/readings", question());
    if (own !== asked) return;
    say(ok ? told.text : told.error, !ok);
    part("evening-bow").hidden = !ok;
    if (!ok) return;
    // the picture is made for a sheet; here it is smaller, and its words must still be read
    const svg = told.svg.replace(/font-size="([\d.]+)"/g, (_, size) => `font-size="${(1.5 * size).toFixed(0)}"`);
    part("evening-bow").src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
  }

  function show(told) {
    part("evening-ask").disabled = told.running;
    part("evening-stop").disabled = !told.running;
    part("evening-print").disabled = told.report === null;
    part("evening-progress").max = Math.max(told.of, 1);
    part("evening-progress").value = told.done;
    part("evening-doing").textContent = told.running ? `${told.done} of up to ${told.of} set-ups ridden`
      : told.report !== null ? "the sheet is there" : told.refused !== null ? "no sheet" : "";
    if (told.report !== null || told.refused !== null) {
      part("evening-bow").hidden = true;
      say(told.report ?? told.refused, told.refused !== null);
    }
    if (told.running) setTimeout(follow, 1000);
  }

  const trouble = (why) => say(`the program does not answer (${why.message}); is it still running?`, true);
  const follow = () => ask("/api/evening").then(({ told }) => show(told)).catch(trouble);

  for (const id of ["evening-readings", "evening-without"]) {
    part(id).addEventListener("input", () => {
      clearTimeout(rest);
      rest = setTimeout(() => readings().catch(trouble), 400);
    });
  }
  part("evening-ask").addEventListener("click", async () => {
    try {
      const { ok, told } = await ask("/api/evening", question());
      if (ok) show(told);
      else say(told.error, true);
    } catch (why) {
      trouble(why);
    }
  });
  part("evening-stop").addEventListener("click", () => {
    part("evening-doing").textContent = "stopping after those in hand";
    ask("/api/evening/stop", {}).catch(trouble);
  });
  part("evening-print").addEventListener("click", () => window.open("/evening-sheet", "_blank", "noopener"));
})();
