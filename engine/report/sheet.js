"use strict";
// Counting by hand: buttons, undo, the running difference, and what was counted as a table. The state is kept in this
// browser's store; where that is refused, in the address of the page.
(() => {
  const sheet = document.getElementById("sheet");
  const isArrival = sheet.dataset.kind === "arrival";
  const key = "kitgap-sheet-" + sheet.dataset.sheet;
  const byField = document.getElementById("by");
  const text = document.getElementById("text");
  const sum = document.getElementById("sum");
  const said = document.getElementById("said");
  const more = document.getElementById("more");
  document.body.classList.add("live");

  // Exact arithmetic on what people type: whole numbers of the twelfth decimal. Null: no figure.
  const one = 10n ** 12n;
  const parse = (typed) => {
    const match = /^\s*(\d{1,9})(?:[.,](\d{1,12}))?\s*$/.exec(typed);
    return match ? BigInt(match[1]) * one + BigInt((match[2] || "").padEnd(12, "0")) : null;
  };
  const write = (value) => {
    const digits = String(value % one).padStart(12, "0").replace(/0+$/, "");
    return String(value / one) + (digits === "" ? "" : "." + digits);
  };

  const cards = () => [...document.querySelectorAll("li.card")];
  const field = (card, name) => card.querySelector(`[data-field="${name}"]`);
  const value = (card, name) => {
    const element = field(card, name);
    return element ? element.value : "";
  };
  const figure = (card, name) => parse(value(card, name));

  // --- state ---------------------------------------------------------------------------------------------------
  const fieldNames = ["count", "damaged", "broken", "restorable", "seen", "bag", "note"];
  const stateOf = () => {
    const state = { by: byField.value, counts: {}, more: [] };
    for (const card of cards()) {
      const kept = {};
      for (const name of fieldNames) {
        const typed = value(card, name);
        if (typed !== (name === "seen" ? card.dataset.seen : "")) kept[name] = typed;
      }
      if (card.parentElement === more) state.more.push({ number: card.dataset.number, ...kept });
      else if (Object.keys(kept).length !== 0) state.counts[card.id] = kept;
    }
    return JSON.stringify(state);
  };
  const fill = (card, kept) => {
    for (const name of fieldNames) {
      const element = field(card, name);
      if (!element) continue;
      const known = kept && typeof kept[name] === "string" ? kept[name] : null;
      element.value = known === null ? (name === "seen" ? card.dataset.seen : "") : known;
    }
  };
  const show = (json) => {
    const state = JSON.parse(json);
    byField.value = state.by || "";
    if (more) more.replaceChildren();
    for (const card of cards()) fill(card, state.counts[card.id]);
    for (const kept of state.more || []) fill(addCard(String(kept.number)), kept);
    refresh();
  };
  let inAddress = false;
  const keep = () => {
    const json = stateOf();
    if (!inAddress) {
      try {
        localStorage.setItem(key, json);
        return;
      } catch {
        inAddress = true;
        say("This browser keeps nothing: your counts stand in the address of this page. Bookmark it.");
      }
    }
    location.replace("#s=" + encodeURIComponent(json));
  };
  const kept = () => {
    try {
      const stored = localStorage.getItem(key);
      if (stored) return stored;
    } catch {
      inAddress = true;
    }
    return location.hash.startsWith("#s=") ? decodeURIComponent(location.hash.slice(3)) : null;
  };

  // --- undo ----------------------------------------------------------------------------------------------------
  const past = [];
  const before = () => {
    past.push(stateOf());
    if (past.length > 200) past.shift();
  };
  document.getElementById("undo").addEventListener("click", () => {
    const last = past.pop();
    if (last === undefined) {
      say("There is nothing to undo.");
      return;
    }
    show(last);
    keep();
    say("Undone.");
  });

  const say = (words) => {
    said.textContent = words;
  };

  // --- the difference ------------------------------------------------------------------------------------------
  const differenceOf = (card) => {
    const typed = value(card, "count");
    if (typed.trim() === "") return { words: "", state: "" };
    const count = parse(typed);
    if (count === null) return { words: "no figure", state: "wrong" };
    const bad = figure(card, isArrival ? "damaged" : "broken") || 0n;
    const restorable = isArrival ? 0n : figure(card, "restorable") || 0n;
    if (bad + restorable > count) return { words: "more spoiled than counted", state: "wrong" };
    const low = parse(card.dataset.lo), high = parse(card.dataset.hi);
    const says = [];
    let state = "right";
    if (low === null || high === null) {
      says.push("counted");
    } else if (count < low) {
      says.push(write(low - count) + (isArrival ? " short" : " fewer"));
      state = "short";
    } else if (count > high) {
      says.push(write(count - high) + (isArrival ? " over" : " more"));
      state = "over";
    } else {
      says.push(low === high ? "right" : "within what may be");
    }
    if (bad > 0n) says.push(write(bad) + (isArrival ? " damaged" : " broken"));
    return { words: says.join(", "), state };
  };
  const refresh = () => {
    const totals = { "": 0, right: 0, short: 0, over: 0, wrong: 0 };
    const all = cards();
    for (const card of all) {
      const { words, state } = differenceOf(card);
      totals[state] += 1;
      card.dataset.state = state;
      const output = card.querySelector(".difference");
      if (output.textContent !== words) output.textContent = words;
    }
    const says = [`${all.length - totals[""]} of ${all.length} lines counted`];
    for (const [state, word] of [["right", "right"], ["short", isArrival ? "short" : "fewer"], ["over", isArrival ? "over" : "more"], ["wrong", "to look at"]]) {
      if (totals[state] !== 0) says.push(`${totals[state]} ${word}`);
    }
    sum.textContent = says.join(" · ");
    text.value = table();
  };

  // --- the table that is read back -----------------------------------------------------------------------------
  const guarded = (cell) => {
    const bare = cell.replace(/^'+/, "");
    const formula = /^[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]/.test(bare);
    const plain = bare.length === cell.length && (cell === "-" || /^-\d+(\.\d+)?$/.test(cell));
    return formula && !plain ? "'" + cell : cell;
  };
  const cellOf = (content) => {
    const cell = guarded(content);
    return /[",\r\n]/.test(cell) ? '"' + cell.replaceAll('"', '""') + '"' : cell;
  };
  const today = () => {
    const now = new Date();
    return [now.getFullYear(), String(now.getMonth() + 1).padStart(2, "0"), String(now.getDate()).padStart(2, "0")].join("-");
  };
  const arrivalRows = (card) => [[card.dataset.number, card.dataset.part, card.dataset.position, write(figure(card, "count")),
    write(figure(card, "damaged") || 0n), value(card, "note")]];
  const foundRows = (card) => {
    const count = figure(card, "count"), broken = figure(card, "broken") || 0n, restorable = figure(card, "restorable") || 0n;
    const seen = value(card, "seen");
    const row = (amount, condition) => [card.dataset.parent, card.dataset.position, card.dataset.part, write(amount), seen, condition,
      value(card, "bag"), "", today(), byField.value, value(card, "note")];
    if (seen === "shell") return [row(count, "")];
    if (count === 0n) return [row(count, "absent")];
    const rows = [];
    const good = count - broken - restorable;
    if (good > 0n) rows.push(row(good, "good"));
    if (restorable > 0n) rows.push(row(restorable, "restorable"));
    if (broken > 0n) rows.push(row(broken, "broken"));
    return rows;
  };
  const table = () => {
    const header = isArrival ? ["part number", "part", "position", "counted", "damaged", "note"]
      : ["parent", "position", "part", "count", "counted in", "condition", "bag", "photo", "date", "by", "note"];
    const rows = [header];
    for (const card of cards()) {
      const { state } = differenceOf(card);
      if (state !== "" && state !== "wrong") rows.push(...(isArrival ? arrivalRows(card) : foundRows(card)));
    }
    return rows.map((row) => row.map(cellOf).join(",") + "\n").join("");
  };

  // --- hands ---------------------------------------------------------------------------------------------------
  const stepped = (input, step) => {
    const now = parse(input.value) || 0n;
    const next = now + BigInt(step) * one;
    input.value = write(next < 0n ? 0n : next);
  };
  sheet.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    const card = button && button.closest("li.card");
    if (!card) return;
    before();
    if (button.dataset.step) stepped(button.parentElement.querySelector("input"), button.dataset.step);
    if (button.dataset.all) field(card, "count").value = button.dataset.all;
    refresh();
    keep();
  });
  let typing = null;
  sheet.addEventListener("focusin", () => {
    typing = stateOf();
  });
  sheet.addEventListener("input", (event) => {
    if (event.target === text || event.target.id === "number") return;
    if (typing !== null) past.push(typing);
    typing = null;
    refresh();
    keep();
  });

  const addCard = (number) => {
    const card = document.getElementById("another").content.firstElementChild.cloneNode(true);
    card.removeAttribute("id");
    card.dataset.number = number;
    card.dataset.lo = card.dataset.hi = "0";
    card.querySelector("b").textContent = number;
    for (const labelled of card.querySelectorAll("[aria-label]")) labelled.setAttribute("aria-label", labelled.getAttribute("aria-label") + number);
    more.append(card);
    return card;
  };
  if (more) {
    document.getElementById("add").addEventListener("click", () => {
      const input = document.getElementById("number");
      if (input.value.trim() === "") {
        say("Type the part number first.");
        return;
      }
      before();
      field(addCard(input.value.trim()), "count").value = "1";
      input.value = "";
      refresh();
      keep();
    });
  }

  document.getElementById("save").addEventListener("click", () => {
    refresh();
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text.value], { type: "text/csv" }));
    link.download = (isArrival ? "counts-" : "found-") + today() + ".csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    say("Saved as " + link.download + ".");
  });
  document.getElementById("copy").addEventListener("click", async () => {
    refresh();
    try {
      await navigator.clipboard.writeText(text.value);
      say("Copied.");
    } catch {
      document.querySelector(".as-text").open = true;
      text.focus();
      text.select();
      say(document.execCommand("copy") ? "Copied." : "Copy the text above by hand.");
    }
  });

  const known = kept();
  if (known) {
    try {
      show(known);
      say("Your counts are here again.");
    } catch {
      say("What was kept for this page cannot be read; it starts empty.");
    }
  }
  refresh();
})();
