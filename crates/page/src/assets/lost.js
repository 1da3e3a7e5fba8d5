// Where the time goes: a table of sections and causes, each cell shaded by its size.
"use strict";

const Lost = (() => {
  const table = document.getElementById("sections");
  const none = document.getElementById("lost-none");
  const minus = (text) => text.replace("-", "−");

  function row(name, cells, head) {
    const r = document.createElement("tr");
    for (const [i, text] of [name, ...cells].entries()) {
      const c = document.createElement(head || i === 0 ? "th" : "td");
      c.textContent = minus(text);
      r.append(c);
    }
    return r;
  }

  function show(told) {
    const there = told !== null && told !== undefined;
    none.hidden = there;
    table.hidden = !there;
    if (!there) return;
    const heads = [...told.causes, "all", "showed"];
    table.tHead.replaceChildren(row("section", heads, true));
    const most = Math.max(1, ...told.rows.flatMap((r) => r.ms.map(Math.abs)));
    table.tBodies[0].replaceChildren(...told.rows.map((r) => {
      const line = row(/^\d/.test(r.name) ? `corner ${r.name}` : r.name, r.cells);
      r.ms.forEach((ms, i) => {
        const cell = line.cells[i + 1];
        const share = Math.sqrt(Math.abs(ms) / most);
        const colour = ms > 0 ? `rgba(200, 55, 31, ${(0.55 * share).toFixed(2)})` : `rgba(15, 107, 87, ${(0.55 * share).toFixed(2)})`;
        if (Math.abs(ms) >= 0.05) cell.style.backgroundColor = colour;
        if (i >= r.ms.length - 2) cell.classList.add("sum");
      });
      line.tabIndex = 0;
      const to = () => Charts.cursor((r.from_m + r.to_m) / 2);
      line.onclick = to;
      line.onfocus = to;
      return line;
    }));
    table.tFoot.replaceChildren(row("whole way", told.whole));
  }

  return { show };
})();
