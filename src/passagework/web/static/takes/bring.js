// Bringing a take in: a file, the microphone, or a digital piano on a cable. All three end as one file that is sent.

import { send } from "/static/page.js";
import { recorder } from "/static/takes/record.js";
import { playIn } from "/static/takes/play_in.js";

const form = document.getElementById("bring");
const ways = document.querySelector("[data-take-ways]");

/** Send a take of the chosen piece and go to its page. */
export async function keep(blob, name) {
  const body = new FormData();
  body.append("student", form.dataset.student);
  body.append("piece", form.elements.piece.value);
  body.append("file", blob, name);
  location.assign((await send("/takes", body)).page);
}

function setUp(section, way) {
  const begin = section.querySelector("[data-record]");
  const stop = section.querySelector("[data-stop]");
  const drop = section.querySelector("[data-throw]");
  const says = section.querySelector(".says-how");
  const level = section.querySelector(".level");
  const meter = section.querySelector("meter");
  let running = null;
  let clock = 0;

  const tell = words => { says.textContent = words; };
  const show = on => {
    begin.hidden = on;
    stop.hidden = drop.hidden = !on;
    if (level) level.hidden = !on;
    clearInterval(clock);
    (on ? stop : begin).focus();
  };
  const failed = error => { running = null; show(false); tell(error.message); };

  begin.addEventListener("click", async () => {
    begin.disabled = true;
    try {
      running = await way(value => { if (meter) meter.value = value; }, failed);
    } catch (error) {
      tell(error.message);
      return;
    } finally {
      begin.disabled = false;
    }
    const from = performance.now();
    show(true);
    const tick = () => tell(running.tell((performance.now() - from) / 1000));
    tick();
    clock = setInterval(tick, 500);
  });
  drop.addEventListener("click", async () => {
    const ended = running;
    running = null;
    show(false);
    await ended?.cancel();
    tell("Thrown away.");
  });
  stop.addEventListener("click", async () => {
    const ended = running;
    running = null;
    show(false);
    try {
      const file = await ended.finish();
      tell("Keeping it");
      await keep(file.blob, file.name);
    } catch (error) { tell(error.message); }
  });
  addEventListener("beforeunload", event => { if (running) event.preventDefault(); });
}

ways.hidden = false;
setUp(document.getElementById("record"), recorder);
setUp(document.getElementById("play-in"), playIn);
