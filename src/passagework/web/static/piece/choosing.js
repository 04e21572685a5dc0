// Choosing notes and bars in the score, by pointer and by keys, and what can be done with them.

import { ask, say } from "/static/page.js";
import { follow } from "/static/jobs.js";
import { announce, bringUp, change, drawnNote, fields, idOf, onChange, onDrawn, piece, score } from "./sheet.js";
import { barField, barName, bars, nearest, notes, numberAt, ready } from "./notes.js";

const box = document.getElementById("chosen");
const chosen = { first: null, last: null, bars: null };

/** What is chosen: notes in order, and bars from first to last. */
export function choice() {
  if (chosen.bars) {
    const [first, last] = chosen.bars;
    return { rows: notes.rows.filter(row => row.bar >= first && row.bar <= last), first, last, whole: true };
  }
  if (!chosen.last) return null;
  const [low, high] = [chosen.first, chosen.last].sort((a, b) => a.at - b.at);
  let rows = [chosen.last];
  if (low !== high) {
    rows = notes.rows.filter(row => row.moment >= low.moment && row.moment <= high.moment);
    if (low.hand === high.hand) rows = rows.filter(row => row.hand === low.hand);
  }
  return { rows, first: low.bar, last: high.bar, whole: false };
}

const name = row => `${row.name}, ${row.hand} hand`;

function finger(row) {
  const shown = row.fixed ? row.fingers : row.printed.length ? row.printed : row.fingers;
  if (!shown.length) return "no finger";
  return `finger ${shown.join(" then ")}${row.fixed ? ", yours" : row.printed.length ? ", as printed" : ""}`;
}

function mark() {
  for (const old of score.querySelectorAll(".is-chosen")) old.classList.remove("is-chosen");
  const now = choice();
  if (!now) return;
  if (now.whole) for (let bar = now.first; bar <= now.last; bar++) barField(bar)?.classList.add("is-chosen");
  else for (const row of now.rows) drawnNote(row.id)?.classList.add("is-chosen");
}

/** Show what is chosen and what can be done with it. */
function show({ speak = true } = {}) {
  mark();
  const now = choice();
  box.hidden = !now;
  document.getElementById("ways").replaceChildren();
  if (!now) return;
  const one = now.rows.length === 1 && !now.whole ? now.rows[0] : null;
  const title = one ? `${one.name}, bar ${barName(one.bar)}`
    : `${bars(now.first, now.last)}${now.whole ? "" : `, ${now.rows.length} notes`}`;
  document.getElementById("chosen-title").textContent = title[0].toUpperCase() + title.slice(1);
  document.getElementById("chosen-why").textContent = one ? `${one.hand} hand, ${finger(one)}. ${one.why}` : "";
  const row = document.getElementById("chosen-fingers");
  row.hidden = !one;
  for (const button of row.querySelectorAll("[data-finger]"))
    button.setAttribute("aria-pressed", String(one?.fixed === true && one.fingers[0] === Number(button.dataset.finger)));
  document.getElementById("free-finger").hidden = !one?.fixed;
  const hands = new Set(now.rows.map(r => r.hand));
  document.getElementById("other-ways").hidden = hands.size === 0;
  for (const form of box.querySelectorAll("form")) shut(form);
  if (speak) announce(one ? `${title}, ${one.hand} hand, ${finger(one)}` : title);
}

function clear() {
  chosen.first = chosen.last = chosen.bars = null;
  show();
}

function chooseNote(row, further = false) {
  chosen.bars = null;
  chosen.last = row;
  if (!further || !chosen.first) chosen.first = row;
  show();
}

function chooseBar(bar, further = false) {
  const from = further && (chosen.bars?.[0] ?? chosen.first?.bar);
  chosen.bars = Number.isInteger(from) ? [Math.min(from, bar), Math.max(from, bar)] : [bar, bar];
  chosen.first = chosen.last = notes.rows.find(row => row.bar === bar) ?? null;
  show();
}

/** Choose the bars of a place, as its slip asks. */
export async function chooseBars(first, last) {
  await ready();
  chosen.bars = [first, last];
  chosen.first = chosen.last = notes.rows.find(row => row.bar === first) ?? null;
  mark();
}

// by pointer

score.addEventListener("click", async event => {
  const svg = event.target.closest("svg");
  if (!svg || numberAt(svg, event.clientX, event.clientY)) return;
  await ready();
  const note = nearest(svg, event.clientX, event.clientY);
  if (note) return chooseNote(notes.byId.get(idOf(note)), event.shiftKey);
  const bar = document.elementsFromPoint(event.clientX, event.clientY).find(e => e.matches?.("rect.bar"));
  if (bar) chooseBar(Number(bar.dataset.bar), event.shiftKey);
  else clear();
});

// by keys, while the score has the focus

score.addEventListener("keydown", async event => {
  if (event.altKey || event.metaKey) return;
  const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  const up = { ArrowUp: -1, ArrowDown: 1 }[event.key];
  if (!step && !up) {
    if (event.key === "Enter" && choice()) { event.preventDefault(); box.querySelector("button:not([hidden])").focus(); }
    return;
  }
  event.preventDefault();
  event.stopPropagation();
  await ready();
  if (!notes.rows.length) return;
  const now = chosen.last;
  if (!now) return chooseNote(firstInView());
  if (event.ctrlKey && step) {
    const next = notes.rows.find(row => row.bar === (chosen.bars?.[event.shiftKey && step > 0 ? 1 : 0] ?? now.bar) + step);
    if (next) event.shiftKey ? chooseBar(next.bar, true) : chooseNote(next);
  } else if (step) {
    const moment = notes.moments[now.moment + step];
    if (moment) chooseNote(closest(moment, now), event.shiftKey);
  } else {
    const moment = notes.moments[now.moment];
    const next = moment[moment.indexOf(now) + up];
    if (next) chooseNote(next, event.shiftKey);
  }
  const seen = drawnNote(chosen.last.id)?.closest(".system");
  if (seen) bringUp(seen, "nearest");
});

const closest = (moment, to) => moment.reduce((best, row) =>
  (row.hand !== to.hand) * 100 + Math.abs(row.pitch - to.pitch) < (best.hand !== to.hand) * 100 + Math.abs(best.pitch - to.pitch) ? row : best);

function firstInView() {
  const system = [...score.querySelectorAll(".system")].find(s => s.getBoundingClientRect().bottom > 80);
  return notes.rows.find(row => row.bar >= Number(system?.dataset.first ?? 0)) ?? notes.rows[0];
}

// what can be done

async function attempt(work) {
  try { return await work(); } catch (error) { say(error.message); return null; }
}

/** Fix the finger of the one chosen note; null frees it again. */
export async function fixFinger(finger) {
  const now = choice();
  if (!now || now.rows.length !== 1 || now.whole) return;
  const row = now.rows[0];
  await attempt(() => change(piece.at("/fingers"), fields({ fingers: `${row.id}:${finger ?? ""}` })));
}

for (const button of document.querySelectorAll("#chosen-fingers [data-finger]"))
  button.addEventListener("click", () => fixFinger(button.dataset.finger));
document.getElementById("free-finger").addEventListener("click", () => fixFinger(null));
document.getElementById("chosen-close").addEventListener("click", () => { clear(); score.focus(); });

function shut(form) {
  form.hidden = true;
  document.querySelector(`[data-opens="${form.id}"]`)?.setAttribute("aria-expanded", "false");
}

/** Open the form for a note or for a place, filled in with what is chosen. */
export function openForm(id) {
  const now = choice();
  if (!now) return;
  for (const other of box.querySelectorAll("form")) if (other.id !== id) shut(other);
  const form = document.getElementById(id);
  form.hidden = false;
  document.querySelector(`[data-opens="${id}"]`).setAttribute("aria-expanded", "true");
  const hands = new Set(now.rows.map(row => row.hand));
  const values = {
    bar: now.first, first_bar: now.first, last_bar: now.last,
    note: now.whole ? "" : now.rows[0].id,
    notes: now.whole ? "" : now.rows.map(row => row.id).join(" "),
    hand: hands.size === 1 ? [...hands][0] : "both",
  };
  for (const [field, value] of Object.entries(values)) if (form.elements[field]) form.elements[field].value = value;
  form.querySelector("textarea, input[type=text]").focus();
}

for (const button of box.querySelectorAll("[data-opens]"))
  button.addEventListener("click", () => {
    const form = document.getElementById(button.dataset.opens);
    form.hidden ? openForm(form.id) : shut(form);
  });

for (const form of box.querySelectorAll("form"))
  form.addEventListener("submit", event => {
    event.preventDefault();
    event.stopPropagation();
    attempt(async () => { await change(form.action, new FormData(form)); form.reset(); shut(form); score.focus({ preventScroll: true }); });
  });

/** Other fingerings of what is chosen, hand by hand; of one note, of the bar's notes of its hand. */
export async function otherWays() {
  const now = choice();
  if (!now) return;
  const ways = document.getElementById("ways");
  ways.replaceChildren(text("p", "Trying other fingers …", "quiet"));
  const parts = [];
  for (const hand of ["right", "left"]) {
    let rows = now.rows.filter(row => row.hand === hand);
    if (rows.length === 1) rows = notes.rows.filter(row => row.bar === rows[0].bar && row.hand === hand);
    if (!rows.length) continue;
    const found = await attempt(() => waysOf(rows));
    if (found) parts.push(...listed(found, rows));
  }
  ways.replaceChildren(...parts);
}

async function waysOf(rows) {
  const ends = { first: rows[0].id, last: rows.at(-1).id };
  const begun = await ask(piece.at("/fingerings", ends));
  const job = await follow(begun.job);
  if (job.state !== "done") throw new Error(job.error || "Stopped.");
  return ask(piece.at("/fingerings", { ...ends, job: begun.job }));
}

function listed(found, rows) {
  const heading = text("h3", `${found.hand[0].toUpperCase()}${found.hand.slice(1)} hand, ${bars(rows[0].bar, rows.at(-1).bar)}`);
  if (found.ways.length < 2) return [heading, text("p", "No other way differs enough to be worth a name.")];
  return [heading, ...found.ways.map(wayOf)];
}

function wayOf(way, at) {
  const part = document.createElement("section");
  part.className = "way";
  part.append(text("p", way.fingers.map(([, row]) => row.join("–")).join(" "), "way-fingers"));
  const over = way.buys.join("; ");
  part.append(text("p", at === 0 ? `What was found first.${over ? ` Over the next: ${over}.` : ""}`
    : over ? `Over the first: ${over}.` : "It has nothing over the first."));
  if (way.costs.length) part.append(text("p", `Asks above all for: ${way.costs.join("; ")}.`, "quiet"));
  const button = text("button", "Take these fingers");
  button.type = "button";
  button.addEventListener("click", () => attempt(() => change(piece.at("/fingers"),
    fields({ fingers: way.fingers.map(([id, row]) => `${id}:${row.join("-")}`).join(" ") }))));
  part.append(button);
  return part;
}

function text(tag, words, kind = "") {
  const made = document.createElement(tag);
  made.textContent = words;
  if (kind) made.className = kind;
  return made;
}

document.getElementById("other-ways").addEventListener("click", otherWays);

onDrawn(mark);
onChange(async () => {
  if (!choice()) return;
  const [first, last] = [chosen.first?.id, chosen.last?.id];
  await ready();
  chosen.first = notes.byId.get(first) ?? null;
  chosen.last = notes.byId.get(last) ?? null;
  const open = [...box.querySelectorAll("form")].find(form => !form.hidden);
  if (open) mark(); else show({ speak: false });
});

/** Choose the whole bar of what is chosen. */
export const wholeBar = () => { if (chosen.last) chooseBar(chosen.last.bar); };
export { clear };
