// Single keys: listed in a dialog, where they can be turned off; never in a field that is being typed in.

import { typing } from "/static/page.js";
import { takeLastBack, score } from "./sheet.js";
import { choice, clear, fixFinger, openForm, otherWays, wholeBar } from "./choosing.js";
import { drill, goOn, openSlip } from "./slips.js";
import { faster, player, toggle } from "./player.js";

const dialog = document.getElementById("keys");
const on = document.getElementById("keys-on");
const KEPT = "passagework.keys";

const ACTS = {
  n: () => goOn(1),
  p: () => goOn(-1),
  e: () => { const slip = openSlip(); if (slip) drill(slip); },
  " ": () => player.toggle(),
  ",": () => faster(-5),
  ".": () => faster(5),
  o: () => toggle("again", "over and over"),
  r: () => toggle("hear-right", "right hand"),
  l: () => toggle("hear-left", "left hand"),
  c: () => toggle("hear-click", "click"),
  s: () => score.focus(),
  b: wholeBar,
  w: () => openForm("note-form"),
  m: () => openForm("place-form"),
  f: otherWays,
  z: takeLastBack,
  Escape: clear,
};
for (const finger of [1, 2, 3, 4, 5]) ACTS[finger] = () => { if (choice()) fixFinger(finger); };

/** What a control does with a key itself is not ours. */
function taken(event) {
  const target = event.target;
  if (typing(event) && !target.matches("input[type=range]")) return true;
  if (event.ctrlKey || event.metaKey || event.altKey) return true;
  return event.key === " " && target.closest("button, summary, a, input, select") !== null;
}

document.addEventListener("keydown", event => {
  if (event.defaultPrevented || taken(event)) return;
  if (event.key === "?") { event.preventDefault(); dialog.showModal(); return; }
  if (!on.checked && event.key !== "Escape") return;
  const act = ACTS[event.key];
  if (!act) return;
  event.preventDefault();
  act();
});

const show = document.getElementById("show-keys");
show.hidden = false;
show.addEventListener("click", () => dialog.showModal());
try { on.checked = localStorage.getItem(KEPT) !== "off"; } catch { /* keys are on */ }
on.addEventListener("change", () => { try { localStorage.setItem(KEPT, on.checked ? "on" : "off"); } catch { /* for this page */ } });
