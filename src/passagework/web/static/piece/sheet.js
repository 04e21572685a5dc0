// What the page knows of its piece: address, student, drawings; and how it brings itself up to date after a change.

import { ask, say, send, token } from "/static/page.js";
import { follow } from "/static/jobs.js";

const desk = document.getElementById("open-piece");

export const piece = {
  id: desk.dataset.piece,
  student: desk.dataset.student,
  scope: desk.dataset.scope,
  /** An address below the piece's, with the student and further fields. */
  at(part, fields = {}) {
    const query = new URLSearchParams(this.student ? { student: this.student, ...fields } : fields);
    return `/pieces/${this.id}${part}${query.size ? `?${query}` : ""}`;
  },
};

export const score = document.getElementById("score");
export const systems = () => [...score.querySelectorAll(".system")];
const PREFIX = "s-";

/** The drawing of a note or rest in the score. */
export const drawnNote = id => document.getElementById(PREFIX + id);
export const idOf = element => element.id.startsWith(PREFIX) ? element.id.slice(PREFIX.length) : "";

const drawnListeners = [];

/** Call `listener` whenever systems were drawn, with their figures. */
export const onDrawn = listener => drawnListeners.push(listener);

function draw(figure, svg) {
  figure.innerHTML = svg;
  delete figure.dataset.later;
}

// The rest of a long piece: fetched once the page stands, put in while the browser has nothing else to do.

const IDLE_MS = 8;
let waiting = new Map();

async function drawRest() {
  const rest = systems().filter(s => "later" in s.dataset);
  if (!rest.length) return;
  const found = await ask(piece.at("/systems"));
  waiting = new Map(rest.filter(s => "later" in s.dataset && found.systems[s.id.slice(7)])
    .map(s => [s, [found.systems[s.id.slice(7)], found.prints[Number(s.id.slice(7))]]]));
  next();
}

function next() {
  if (!waiting.size) return;
  const soon = window.requestIdleCallback ?? (work => setTimeout(() => work({ timeRemaining: () => IDLE_MS }), 10));
  soon(left => { drawSome(() => left.timeRemaining() > IDLE_MS / 2); next(); }, { timeout: 500 });
}

function drawSome(goOn) {
  const done = [];
  do {
    const figure = nearest();
    if (!figure) break;
    const [svg, print] = waiting.get(figure);
    waiting.delete(figure);
    if (!("later" in figure.dataset)) continue; // a change has drawn it meanwhile
    draw(figure, svg);
    figure.dataset.print = print;
    done.push(figure);
  } while (goOn());
  for (const listener of drawnListeners) listener(done);
}

/** What waits to be drawn nearest to what is in sight. */
function nearest() {
  let best = null, least = Infinity;
  for (const figure of waiting.keys()) {
    const far = Math.abs(figure.getBoundingClientRect().top - innerHeight / 2);
    if (far < least) { least = far; best = figure; }
  }
  return best;
}

addEventListener("beforeprint", () => drawSome(() => waiting.size > 0));

const prints = () => systems().map(system => system.dataset.print).join(",");
const listeners = [];

/** Call `listener` after every change of the score or of what stands beside it. */
export const onChange = listener => listeners.push(listener);

/** Take in what the program answered: new drawings, and what stands beside them. */
export function take(state) {
  if (!state.prints) { location.reload(); return; }
  for (const [at, svg] of Object.entries(state.systems)) {
    const figure = document.getElementById(`system-${at}`);
    draw(figure, svg);
    figure.dataset.print = state.prints[Number(at)];
  }
  replaceBeside(state.beside);
  document.querySelectorAll(".strip-numbers").forEach((place, at) => { place.innerHTML = state.numbers[at]; });
  const drawn = Object.keys(state.systems).map(at => document.getElementById(`system-${at}`));
  for (const listener of drawnListeners) listener(drawn);
  for (const listener of listeners) listener();
  if (state.job) refinger(state.job);
}

/** The new slips, with what was open left open and what was fetched left in its place. */
function replaceBeside(html) {
  const beside = document.getElementById("beside");
  const fresh = document.createElement("div");
  fresh.innerHTML = html;
  for (const slip of beside.querySelectorAll(".slip")) {
    const next = fresh.querySelector(`[id="${CSS.escape(slip.id)}"]`);
    if (!next) continue;
    next.open = slip.open;
    const drill = slip.querySelector(".drill");
    if (drill.childNodes.length) next.querySelector(".drill").replaceWith(drill);
  }
  for (const name of ["more-places", "hidden-places", "unplaced"]) {
    const old = beside.querySelector(`.${name}`), next = fresh.querySelector(`.${name}`);
    if (old && next) next.open = old.open;
  }
  const focused = beside.contains(document.activeElement) ? place(document.activeElement) : null;
  beside.replaceChildren(...fresh.childNodes);
  if (focused) (document.getElementById(focused)?.querySelector("summary") || document.getElementById("beside")).focus({ preventScroll: true });
}

const place = element => element.closest(".slip")?.id || "beside";

async function refinger(job) {
  const done = await follow(job);
  if (done.state === "done") await refresh();
  else if (done.error) say(done.error);
}

/** Ask what has changed since. */
export async function refresh() {
  take(await ask(piece.at("/state"), { headers: { accept: "application/json", "x-prints": prints() } }));
}

let undoLast = null;

/** Send a change: a form's fields, to its own address or to another. */
export async function change(path, data) {
  const answer = await send(path, data, { headers: { "x-prints": prints() } });
  take(answer);
  undoLast = answer.undo ? () => takeBack(answer.undo) : null;
  say(answer.words, undoLast);
  return answer;
}

async function takeBack(undo) {
  undoLast = null;
  await send("/undo.json", { undo });
  await refresh();
  announce("Taken back.");
}

/** Take the last change back. */
export async function takeLastBack() {
  if (!undoLast) return;
  const undo = undoLast;
  document.getElementById("notices").replaceChildren();
  await undo();
  say("Taken back.");
}

/** Fields as a form would send them. */
export function fields(values) {
  const data = new FormData();
  data.set("token", token());
  for (const [name, value] of Object.entries(values)) data.set(name, value);
  return data;
}

/** Say something to those who listen to the page. */
export function announce(words) {
  document.getElementById("said").textContent = words;
}

export const still = matchMedia("(prefers-reduced-motion: reduce)");

/** Bring something of the score into sight. */
export function bringUp(element, block = "center") {
  element?.scrollIntoView({ block, behavior: still.matches ? "auto" : "smooth" });
}

/** Begin what is not needed to open the page. */
export function settle() {
  drawRest().catch(error => say(error.message));
  if (desk.dataset.refingering) refinger(desk.dataset.refingering);
}
