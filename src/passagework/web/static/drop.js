// Files laid on the page: sent one after the other, so that a whole folder needs no large request.

import { send } from "/static/page.js";

export function setUp() {
  const form = document.querySelector("[data-drop]");
  const says = form.querySelector(".drop-says");
  for (const part of form.querySelectorAll("[data-with-script]")) part.hidden = false;
  let depth = 0;
  const brings = event => event.dataTransfer?.types.includes("Files");
  addEventListener("dragenter", event => { if (brings(event)) { depth += 1; form.classList.add("over"); } });
  addEventListener("dragleave", event => {
    if (brings(event) && (depth -= 1) <= 0) form.classList.remove("over");
  });
  addEventListener("dragover", event => { if (brings(event)) event.preventDefault(); });
  addEventListener("drop", async event => {
    if (!brings(event)) return;
    event.preventDefault();
    depth = 0;
    form.classList.remove("over");
    bring(await filesOf(event.dataTransfer), form, says);
  });
  form.addEventListener("submit", event => {
    event.preventDefault();
    bring([...form.querySelector("input[type=file]").files], form, says);
  });
}

async function bring(files, form, says) {
  let batch = "";
  for (const [at, file] of files.entries()) {
    says.textContent = `Bringing in ${at + 1} of ${files.length}`;
    const body = new FormData();
    if (batch) body.append("batch", batch);
    body.append("files", file, file.name);
    try {
      batch = (await send(form.getAttribute("action"), body)).batch;
    } catch (error) {
      says.textContent = `${file.name}: ${error.message}`;
      if (!batch) return;
    }
  }
  if (batch) location.assign(`/library/arrivals/${batch}`);
}

/** All files that were laid down, those in folders too. */
async function filesOf(transfer) {
  const entries = [...transfer.items].map(item => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.some(entry => entry.isDirectory)) return [...transfer.files];
  const found = [];
  for (const entry of entries) await walk(entry, found);
  return found;
}

async function walk(entry, found) {
  if (entry.isFile) {
    found.push(await new Promise((resolve, reject) => entry.file(resolve, reject)));
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const part = await new Promise((resolve, reject) => reader.readEntries(resolve, reject));
    if (!part.length) return;
    for (const inner of part) await walk(inner, found);
  }
}
