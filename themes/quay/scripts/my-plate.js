// My plate: says of a plate that the visitor types in how each part of the release
// goes onto it, and what that means for the whole. Everything it needs stands in
// the page; nothing is fetched or sent. The answers are those of the program's
// fit.Frontier and verdict.Judge, which the tests hold it to.
"use strict";
(() => {
  const form = document.getElementById("my-plate");
  const source = document.getElementById("my-plate-data");
  if (!form || !source) return;
  const data = JSON.parse(source.textContent);
  const field = (name) => form.elements.namedItem(name);
  const answer = form.querySelector("[role=status]");
  const table = form.querySelector("table");
  const MM_PER_INCH = 25.4; // exactly
  const KEY = "my-plate";

  // boxes reads a list of a frontier: a table of the least third side for each first and
  // second, of which each place is the lesser of its neighbours to the left and above, or
  // less. The text says how many are equal, then by how much the next is less: see
  // package frontier.
  function boxes(list) {
    const out = [];
    if (!list.pitch) return out;
    const [lastI, lastJ, lastK] = list.last;
    const steps = list.steps.matchAll(/(\d*)(z*)([a-y])/g);
    let equal, less, above = new Array(lastJ + 1).fill(lastK + 1);
    const next = () => {
      const [, digits, more, letter] = steps.next().value || ["", "Infinity", "", "a"];
      equal = Number(digits);
      less = 25 * more.length + letter.charCodeAt(0) - 96;
    };
    next();
    for (let i = 0; i <= lastI; i++) {
      const row = new Array(lastJ + 1);
      for (let j = i; j <= lastJ; j++) {
        row[j] = j > i ? Math.min(row[j - 1], above[j]) : above[j];
        if (equal > 0) {
          equal--;
          continue;
        }
        row[j] -= less;
        if (row[j] < above[j] && (j === i || row[j] < row[j - 1])) out.push([list.pitch * i, list.pitch * j, list.pitch * row[j]]);
        next();
      }
      above = row;
    }
    return out;
  }

  for (const process of data.processes) {
    for (const part of process.parts) {
      if (!part.frontier) continue;
      part.turned = boxes(part.frontier.turned); // two sides each, after a 0
      part.boxes = boxes(part.frontier.boxes);
      part.cylinders = boxes(part.frontier.cylinders);
    }
  }

  // HAIR is what the program rounds away, so that a part just fits its own size.
  const HAIR = 0.4 * (2e-14 * 5e4);
  const MOST_STEPS = 2 * 10800;
  const FARTHEST = 1e9;

  // fits is "supplied", "turned", "tipped" or "not". Lengths in mm.
  function fits(part, plate) {
    const f = part.frontier;
    const room = [plate.width - 2 * plate.margin, plate.depth - 2 * plate.margin, plate.height];
    if (!room.every((x) => x > 0 && x <= FARTHEST)) return "not";
    const [w, d, h] = room.map((x) => Math.floor(Math.min((x + HAIR) / f.step_mm, MOST_STEPS)));
    const [sw, sd, sh] = f.supplied;
    if (plate.round) {
      if (f.circle <= w && sh <= h) return "supplied";
      return part.cylinders.some((c) => c[1] <= w && c[2] <= h) ? "tipped" : "not";
    }
    if (sw <= w && sd <= d && sh <= h) return "supplied";
    const least = Math.min(w, d), most = Math.max(w, d);
    if (sh <= h && sd <= w && sw <= d) return "turned";
    if (sh <= h && part.turned.some((t) => t[1] <= least && t[2] <= most)) return "turned";
    const sides = [w, d, h].sort((a, b) => a - b);
    return part.boxes.some((b) => b[0] <= sides[0] && b[1] <= sides[1] && b[2] <= sides[2]) ? "tipped" : "not";
  }

  function words(part, how) {
    switch (how) {
      case "supplied": return part.tilted ? "fits at its recommended tilt" : "fits as supplied";
      case "turned": return part.tilted ? "fits at its recommended tilt, turned" : "fits turned";
      case "tipped": return part.declared ? "fits, but not at the recommended tilt" : "fits tipped";
      case "not": return "does not fit";
    }
    return part.none;
  }

  function list(names) {
    if (names.length < 2) return names.join("");
    return names.slice(0, -1).join(", ") + " and " + names[names.length - 1];
  }

  // judge puts the parts' answers together; see verdict.Judge.
  function judge(process, how) {
    const { parts, slots } = process;
    if (parts.length === 0) return "This release has no parts yet.";
    const fit = (i) => ["supplied", "turned", "tipped"].includes(how[i]);
    const keeps = (i) => fit(i) && !(parts[i].declared && how[i] === "tipped");
    const first = (slot, pass) => slot.ways.find((way) => way.parts.every(pass));
    const split = [], whole = [], tilted = [], missing = [], unread = [], outside = [], either = [];
    for (const slot of slots) {
      const way = first(slot, keeps) || first(slot, fit);
      if (way) {
        if (way.split) split.push(slot.name);
        else if (slot.ways.length > 1 && slot.ways[1].split) whole.push(parts[way.parts[0]].name);
        for (const i of way.parts) if (!keeps(i)) tilted.push(parts[i].name);
        continue;
      }
      if (!first(slot, (i) => parts[i].offered)) {
        missing.push(slot.name);
        continue;
      }
      const large = [], pieces = [];
      for (const i of slot.ways[0].parts) {
        if (!fit(i)) (how[i] === "none" ? unread : large).push(parts[i].name);
      }
      if (slot.ways.length > 1 && slot.ways[1].split) {
        for (const i of slot.ways[1].parts) {
          if (!fit(i) && parts[i].offered) (how[i] === "none" ? unread : pieces).push(parts[i].name);
        }
      }
      if (large.length && pieces.length) either.push({ whole: large[0], pieces });
      else outside.push(...large, ...pieces);
    }
    if (missing.length === slots.length) return `No part has a cut for ${process.name}.`;
    const out = [];
    if (missing.length) out.push(`There is no ${process.name} cut of ${list(missing)}.`);
    if (unread.length) out.push(`The mesh of ${list(unread)} could not be read.`);
    if (outside.length) out.push(`${list(outside)} ${outside.length === 1 ? "does" : "do"} not fit at full size.`);
    for (const e of either) {
      out.push(`${e.whole} fits at full size neither whole nor in its pieces, of which ${list(e.pieces)} ${e.pieces.length === 1 ? "does" : "do"} not fit.`);
    }
    if (!out.length) {
      if (split.length) out.push(`Each part fits when ${list(split)} is printed in its pieces.`);
      else if (whole.length) out.push(`Each part fits; ${list(whole)} need not be split.`);
      else out.push("Each part fits.");
    }
    const otherwise = "only in another orientation than the one recommended.";
    if (tilted.length > 3) out.push(`${tilted.length} parts fit ${otherwise}`);
    else if (tilted.length) out.push(`${list(tilted)} ${tilted.length === 1 ? "fits" : "fit"} ${otherwise}`);
    return out.join(" ");
  }

  // length reads a field in mm; undefined where it is empty or no length.
  function length(name) {
    const text = field(name).value.trim().replace(",", ".");
    if (!/^(\d+\.?\d*|\.\d+)$/.test(text)) return undefined;
    return Number(text) * (field("unit").value === "in" ? MM_PER_INCH : 1);
  }

  function show() {
    const round = field("shape").value === "round";
    form.querySelector("[data-for=depth]").hidden = round;
    form.querySelector("label[for=plate-width]").textContent = round ? "Diameter" : "Width";
    const process = data.processes.find((p) => p.name === field("process").value) || data.processes[0];
    const wanted = round ? ["width", "height"] : ["width", "depth", "height"];
    const bad = [];
    for (const name of ["width", "depth", "height", "margin"]) {
      const input = field(name), typed = input.value.trim() !== "";
      const wrong = typed && (length(name) === undefined || (name !== "margin" && length(name) === 0));
      if (wrong && (wanted.includes(name) || name === "margin")) {
        input.setAttribute("aria-invalid", "true");
        bad.push(form.querySelector(`label[for=${input.id}]`).textContent.toLowerCase());
      } else input.removeAttribute("aria-invalid");
    }
    const empty = wanted.some((name) => field(name).value.trim() === "");
    table.hidden = form.querySelector(".within").hidden = bad.length > 0 || empty;
    if (bad.length || empty) {
      say(bad.length ? `Give the ${list(bad)} as a number, such as 120 or 4.5.` : `Give the ${list(wanted.map((name) => form.querySelector(`label[for=plate-${name}]`).textContent.toLowerCase()))} of your plate.`);
      return;
    }
    const width = length("width");
    const plate = { round, width, depth: round ? width : length("depth"), height: length("height"), margin: length("margin") || 0 };
    const how = process.parts.map((part) => (part.frontier ? fits(part, plate) : "none"));
    const body = table.tBodies[0];
    body.replaceChildren(...process.parts.map((part, i) => {
      const row = document.createElement("tr");
      row.dataset.how = how[i];
      const cells = [document.createElement("td"), document.createElement("th"), document.createElement("td")];
      cells[0].className = "n";
      cells[0].textContent = part.number;
      cells[1].scope = "row";
      cells[1].textContent = part.name;
      cells[2].textContent = words(part, how[i]);
      row.append(...cells);
      return row;
    }));
    form.querySelector(".within").textContent = process.within;
    say(judge(process, how));
  }

  // say changes the live text only where it differs, so that it is read out once.
  function say(text) {
    if (answer.textContent !== text) answer.textContent = text;
  }

  const NAMES = ["process", "shape", "width", "depth", "height", "margin", "unit"];
  // Storage may be refused, or hold anything: then nothing is remembered.
  function remember() {
    try {
      localStorage.setItem(KEY, JSON.stringify(Object.fromEntries(NAMES.map((name) => [name, field(name).value]))));
    } catch {}
  }
  function recall() {
    try {
      const kept = JSON.parse(localStorage.getItem(KEY));
      for (const name of NAMES) {
        const input = field(name);
        if (typeof kept[name] !== "string" || kept[name].length > 12) continue;
        if (input.options && ![...input.options].some((o) => o.value === kept[name])) continue;
        input.value = kept[name];
      }
    } catch {}
  }

  let waiting;
  const now = () => {
    clearTimeout(waiting);
    show();
    remember();
  };
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    now();
  });
  form.addEventListener("change", now);
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(now, 400); // a listener hears the answer once, not at each key
  });
  form.querySelector("[data-forget]").addEventListener("click", () => {
    clearTimeout(waiting);
    form.reset();
    try {
      localStorage.removeItem(KEY);
    } catch {}
    show();
    field("width").focus();
  });
  form.hidden = false;
  recall();
  show();
})();
