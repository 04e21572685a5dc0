// Follows long work: asks how far it is, oftener at first, and goes on when it is done.

import { ask, send } from "/static/page.js";

const FIRST = 150, LONGEST = 400;

/** Follow the job `id` to its end; `tell` gets it each time. Gives the job as it ended. */
export async function follow(id, tell = () => {}) {
  for (let pause = FIRST; ; pause = Math.min(LONGEST, pause * 1.3)) {
    const job = await ask(`/jobs/${encodeURIComponent(id)}`);
    tell(job);
    if (["done", "failed", "cancelled"].includes(job.state)) return job;
    await new Promise(resolve => setTimeout(resolve, pause));
  }
}

export const cancel = id => send(`/jobs/${encodeURIComponent(id)}/cancel`);

/** Follow every job that the page shows. */
export function followAll() {
  for (const box of document.querySelectorAll("[data-job]")) show(box);
}

async function show(box) {
  const bar = box.querySelector("progress");
  const words = box.querySelector(".job-words");
  const stop = box.querySelector("form");
  stop?.addEventListener("submit", event => {
    event.preventDefault();
    cancel(box.dataset.job).catch(error => { words.textContent = error.message; });
  });
  try {
    const job = await follow(box.dataset.job, now => {
      if (now.progress === null) bar.removeAttribute("value");
      else bar.value = now.progress;
      words.textContent = now.error || now.words || "Waiting for its turn";
    });
    stop?.remove();
    if (job.state === "done") location.assign(box.dataset.then);
    else words.textContent = job.error || "Stopped.";
  } catch (error) {
    words.textContent = error.message;
  }
}
