// The controls: sliders and fields of a set-up, and what they ask for.
"use strict";

const Controls = (() => {
  const part = (key) => document.querySelector(`.control[data-key="${key}"]`);
  const all = () => [...document.querySelectorAll(".control")];
  const EVEN = "runners.bow_mm";
  const SCREWS = ["runners.left.bow_front_mm", "runners.right.bow_front_mm",
    "runners.left.bow_rear_mm", "runners.right.bow_rear_mm"];
  const even = document.getElementById("even");
  let opened = {};    // values of the set-up as opened, by key
  let file = null;    // the file it came from; null is the one that the page began with
  let first = [];     // keys set beside it from the start
  let changed = () => {};
  const pair = document.getElementById("pair");
  let library = [];   // pairs that can be put on
  let worn = [];      // keys and values of the pair that is on, but for those at the controls

  const shown = (value) => value === null ? "" : String(value);
  // as a file would have it: no more digits than the step of a slider leaves
  const plain = (value) => String(Number(Number(value).toPrecision(10)));

  function put(key, value) {
    const [range, field] = part(key).querySelectorAll("input");
    field.value = shown(value);
    range.value = value === null ? (Number(range.min) + Number(range.max)) / 2 : value;
    range.classList.toggle("unset", value === null);
    mark(key);
  }

  function mark(key) {
    const now = read(key);
    part(key).classList.toggle("moved", now !== shown(opened[key]));
  }

  const read = (key) => part(key).querySelectorAll("input")[1].value.trim();

  function showBow() {
    document.getElementById("even-bow").hidden = !even.checked;
    document.getElementById("four-bows").hidden = even.checked;
  }

  // keys and values as after --set: those that differ from the file
  function sets() {
    const skip = even.checked ? SCREWS : [EVEN];
    const moved = all().map((c) => c.dataset.key).filter((key) => !skip.includes(key))
      .filter((key) => read(key) !== "" && read(key) !== shown(opened[key]));
    // one bow for all goes before four in a file that has them uneven
    const on = worn.map(([key]) => key);
    return first.filter(([key]) => !moved.includes(key) && !on.includes(key)).concat(worn, moved.map((key) => [key, read(key)]));
  }

  function open(values, from, beside) {
    opened = values;
    file = from;
    first = beside;
    even.checked = values[EVEN] !== null;
    for (const c of all()) put(c.dataset.key, values[c.dataset.key]);
    pair.value = "";
    wear();
    showBow();
  }

  // a pair is put on: what the controls know of it is moved there, the rest is set beside
  function wear() {
    const chosen = library.find((p) => p.name === pair.value);
    const own = (key) => part(key) !== null;
    for (const key of new Set(library.flatMap((p) => p.sets.map(([k]) => k)).filter(own))) put(key, opened[key]);
    // a name that tells the old pair tells the new one
    const name = document.body.dataset.name;
    const named = chosen ? `${name.replace(/, pair [^,]*$/, "")}, pair ${chosen.name}`.slice(0, 80) : name;
    document.getElementById("setup-name").textContent = named;
    worn = chosen ? [["name", named], ...chosen.sets.filter(([key]) => !own(key))] : [];
    for (const [key, value] of chosen ? chosen.sets : []) if (own(key)) put(key, Number(value));
    document.getElementById("pair-words").textContent = chosen && chosen.unknown !== "" ? `not measured, taken as usual: ${chosen.unknown}` : "";
  }
  pair.addEventListener("change", () => {
    wear();
    changed();
  });

  function pairs(list) {
    library = list;
    pair.replaceChildren(...[["", "as the set-up has it"], ...list.map((p) => [p.name, `pair ${p.name}`])].map(([value, words]) => {
      const option = document.createElement("option");
      option.value = value;
      option.textContent = words;
      return option;
    }));
    pair.value = "";
    wear();
  }

  for (const c of all()) {
    const [range, field] = c.querySelectorAll("input");
    range.addEventListener("input", () => {
      field.value = plain(range.value);
      range.classList.remove("unset");
      mark(c.dataset.key);
      changed();
    });
    field.addEventListener("input", () => {
      if (field.value.trim() !== "" && field.validity.valid) range.value = field.value;
      mark(c.dataset.key);
      changed();
    });
  }
  even.addEventListener("change", () => {
    if (even.checked) {
      const bows = SCREWS.map((key) => Number(read(key)));
      put(EVEN, Number(plain(bows.reduce((a, b) => a + b, 0) / 4)));
    } else {
      for (const key of SCREWS) put(key, Number(read(EVEN)));
    }
    showBow();
    changed();
  });
  for (const id of ["skill", "rides", "seed"]) {
    document.getElementById(id).addEventListener("input", () => changed());
  }

  return {
    open,
    pairs: (list) => { pairs(list); changed(); },
    pair: () => pair.value,
    back: () => { open(opened, file, first); changed(); },
    onChange: (f) => { changed = f; },
    asked: () => ({ file, sets: sets(), skill: document.getElementById("skill").value }),
    rides: () => Number(document.getElementById("rides").value),
    seed: () => Number(document.getElementById("seed").value),
    // what is wrong with a field, in a sentence
    wrong: () => {
      for (const input of document.querySelectorAll("#controls input[type=number]")) {
        if (input.closest("[hidden]")) continue;
        const label = document.querySelector(`label[for="${input.id}"]`).textContent;
        if (input.validity.badInput) return `${label}: not a number; a decimal point is wanted`;
        if (input.validity.rangeUnderflow || input.validity.rangeOverflow) {
          return `${label}: ${input.value}; allowed are ${input.min} to ${input.max || "any"}`;
        }
        if (["rides", "seed"].includes(input.id) && !/^\d+$/.test(input.value)) {
          return `${label}: a whole number is wanted`;
        }
      }
      return null;
    },
  };
})();
