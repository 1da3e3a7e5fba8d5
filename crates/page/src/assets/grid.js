// A corner list as a table: each cell is a value in the text, and a change is written where it stands there.
"use strict";

const Grid = (() => {
  const body = document.querySelector("#track-grid tbody");
  const text = document.getElementById("track-text");
  const CORNER = ["corner", "hand", "radius_m", "angle_deg", "transition_in_m", "transition_out_m", "design_speed_km_h", "exit_design_speed_km_h", "grade_percent"];
  const STRAIGHT = [null, null, "straight_m", null, null, null, null, null, "grade_percent"];
  let changed = () => {};

  // elements of the list: first and last line, and for each key its line, value and where that stands; lines from 0
  function elements() {
    const found = [];
    let own = null;
    text.value.split("\n").forEach((line, at) => {
      if (/^\s*\[/.test(line)) {
        own = /^\s*\[\[\s*elements\s*\]\]/.test(line) ? { from: at, to: at, keys: {} } : null;
        if (own) found.push(own);
        return;
      }
      const pair = own && /^(\s*([A-Za-z_]+)\s*=\s*)("[^"]*"|[^#]*?)\s*(#.*)?$/.exec(line);
      if (!pair) return;
      own.keys[pair[2]] = { at, from: pair[1].length, to: pair[1].length + pair[3].length, value: pair[3].replace(/^"|"$/g, ""), quoted: pair[3].startsWith("\"") };
      own.to = at;
    });
    return found;
  }

  function write(index, key, value) {
    const element = elements()[index];
    const lines = text.value.split("\n");
    const old = element.keys[key];
    const plain = value.replace(/["\\\n]/g, "");
    const said = key === "corner" || key === "hand" ? `"${plain}"` : plain;
    if (old && plain === "") lines.splice(old.at, 1);
    else if (old) lines[old.at] = lines[old.at].slice(0, old.from) + said + lines[old.at].slice(old.to);
    else if (plain !== "") lines.splice(element.to + 1, 0, `${key} = ${said}`);
    text.value = lines.join("\n");
  }

  function remove(index) {
    const { from, to } = elements()[index];
    const lines = text.value.split("\n");
    lines.splice(from, to - from + 1 + (lines[to + 1] === "" ? 1 : 0));
    text.value = lines.join("\n");
  }

  function add(index, block) {
    const lines = text.value.split("\n");
    lines.splice(elements()[index].to + 1, 0, "", "[[elements]]", ...block);
    text.value = lines.join("\n");
  }

  function cell(index, element, key, name) {
    const td = document.createElement("td");
    if (key === null) return td;
    const is = element.keys[key];
    const field = document.createElement(key === "hand" ? "select" : "input");
    if (key === "hand") {
      for (const hand of ["left", "right"]) {
        const option = document.createElement("option");
        option.textContent = hand;
        field.append(option);
      }
    } else field.inputMode = key === "corner" ? "text" : "decimal";
    field.value = is ? is.value : "";
    field.dataset.key = key;
    field.dataset.line = is ? is.at + 1 : "";
    field.setAttribute("aria-label", `${name}, ${key}`);
    field.addEventListener("change", () => {
      write(index, key, field.value.trim());
      const next = document.activeElement && document.activeElement.dataset ? [...body.querySelectorAll("input, select")].indexOf(document.activeElement) : -1;
      show();
      const after = body.querySelectorAll("input, select")[next];
      if (after) after.focus();
      changed();
    });
    td.append(field);
    return td;
  }

  function show() {
    const all = elements();
    body.replaceChildren(...all.map((element, index) => {
      const corner = element.keys.corner !== undefined;
      const row = document.createElement("tr");
      const name = corner ? `corner ${element.keys.corner.value}` : `straight ${index + 1}`;
      row.className = corner ? "corner" : "straight";
      const keys = corner ? CORNER : STRAIGHT;
      row.append(...keys.map((key, i) => {
        const c = cell(index, element, key, name);
        if (i === 0 && !corner) c.textContent = "straight";
        return c;
      }));
      const tools = document.createElement("td");
      for (const [sign, what, does] of [
        ["+", "a straight behind this", () => add(index, ["straight_m = 10"])],
        ["⌒", "a corner behind this", () => add(index, ["corner = \"new\"", "hand = \"left\"", "radius_m = 40", "angle_deg = 40", "transition_in_m = 20", `design_speed_km_h = ${speedBefore(all, index)}`])],
        ["×", "remove this", () => remove(index)],
      ]) {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = sign;
        button.title = what;
        button.setAttribute("aria-label", `${name}: ${what}`);
        button.addEventListener("click", () => {
          does();
          show();
          changed();
        });
        tools.append(button);
      }
      row.append(tools);
      return row;
    }));
  }

  function speedBefore(all, index) {
    for (let i = index; i >= 0; i -= 1) {
      const k = all[i].keys.exit_design_speed_km_h ?? all[i].keys.design_speed_km_h;
      if (k) return k.value;
    }
    return "60";
  }

  // marks the cells that stand on these lines of the text, from 1
  function mark(lines) {
    for (const field of body.querySelectorAll("input, select")) field.classList.toggle("faulty", lines.includes(Number(field.dataset.line)));
  }

  // speeds at entry and exit, by the name of the corner
  function take(speeds) {
    for (const [name, [from, to]] of speeds) {
      const index = elements().findIndex((e) => e.keys.corner && e.keys.corner.value === name);
      if (index < 0) continue;
      write(index, "design_speed_km_h", from);
      write(index, "exit_design_speed_km_h", to);
    }
    show();
    changed();
  }

  return { show, mark, take, onChange: (f) => { changed = f; } };
})();
