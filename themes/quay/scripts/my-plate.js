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

  // decider reads decisions, yes or no, from the text of fit's squeezer: a number in
  // base 64 between low and high, of which five digits are looked at. A yes is the
  // lower part of what is between them, as large as yes is likely in that context,
  // in 65536ths; which is learnt. All products stay below 2^53.
  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
  const TOP = 64 ** 4, LEARNT = 60;
  function decider(text) {
    let read = 0, low = 0, high = 64 * TOP - 1, at = 0;
    const digit = () => Math.max(DIGITS.indexOf(text.charAt(read++) || "A"), 0);
    for (let i = 0; i < 5; i++) at = at * 64 + digit();
    const guesses = new Map();
    return (context) => {
      let g = guesses.get(context);
      if (!g) guesses.set(context, (g = { likely: 32768, seen: 0 }));
      const part = low + Math.floor(((high - low) * g.likely) / 65536);
      const yes = at <= part;
      if (yes) {
        high = part;
        g.likely += Math.floor(((65535 - g.likely) * 2) / (2 * g.seen + 3));
      } else {
        low = part + 1;
        g.likely -= Math.floor(((g.likely - 1) * 2) / (2 * g.seen + 3));
      }
      g.seen = Math.min(g.seen + 1, LEARNT);
      while (Math.floor(low / TOP) === Math.floor(high / TOP)) {
        at = (at % TOP) * 64 + digit();
        low = (low % TOP) * 64;
        high = (high % TOP) * 64 + 63;
      }
      return yes;
    };
  }

  // boxes reads a list of a frontier, which is written as a table of the least third
  // side for each first and second; see stepsText.code. Ascending says that no third
  // side is less than its second.
  function boxes(list, ascending) {
    const out = [];
    if (!list.pitch) return out;
    const decide = decider(list.steps), [lastI, lastJ, lastK] = list.last;
    const clamp = (x, least, most) => Math.min(Math.max(x, least), most);
    let above = new Array(lastJ + 2).fill(lastK + 1);
    for (let i = 0; i <= lastI; i++) {
      if (decide(0)) continue; // as the row above
      const row = new Array(lastJ + 2).fill(lastK + 1);
      let said = 0;
      for (let j = i; j <= lastJ; j++) {
        const left = j > i ? row[j - 1] : above[j], corner = j > i ? above[j - 1] : above[j];
        let context = Math.min(corner - Math.max(left, above[j]), 3);
        context = 5 * context + clamp(left - above[j], -2, 2) + 2;
        context = 3 * context + clamp(above[j] - above[j + 1], 0, 2);
        context = 3 * context + said;
        said = 0;
        let k = Math.min(left, above[j]);
        for (let n = 0; k > (ascending ? j : 0) && decide(1 + 8 * context + Math.min(n, 7)); n++) {
          k--;
          said = Math.min(n + 1, 2);
        }
        row[j] = k;
        if (k < above[j] && (j === i || k < row[j - 1])) out.push([list.pitch * i, list.pitch * j, list.pitch * k]);
      }
      above = row;
    }
    return out;
  }

  for (const process of data.processes) {
    for (const part of process.parts) {
      if (!part.frontier) continue;
      part.turned = boxes(part.frontier.turned, true); // two sides each, after a 0
      part.boxes = boxes(part.frontier.boxes, true);
      part.cylinders = boxes(part.frontier.cylinders, false);
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
