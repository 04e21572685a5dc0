// What every page does beyond its plain forms. Without scripts all of it still works, with one page more.

export const token = () => document.querySelector("meta[name=token]").content;

/** Send something to this program; gives its JSON, or throws an Error with its one line. */
export async function send(path, body = null, options = {}) {
  const headers = { "x-token": token(), accept: "application/json", ...(options.headers || {}) };
  let data = body;
  if (body !== null && !(body instanceof FormData) && !(body instanceof Blob)) {
    headers["content-type"] = "application/json";
    data = JSON.stringify(body);
  }
  const answer = await fetch(path, { method: options.method || "POST", headers, body: data, signal: options.signal });
  return read(answer);
}

/** Ask this program for JSON. */
export async function ask(path, options = {}) {
  return read(await fetch(path, { headers: { accept: "application/json" }, ...options }));
}

async function read(answer) {
  const type = answer.headers.get("content-type") || "";
  const value = type.includes("json") ? await answer.json() : await answer.text();
  if (!answer.ok) throw new Error((value && value.error) || "That did not work.");
  return value;
}

/** Say something at the foot of the page; `undo` is what the studio gave to take it back, or a function. */
export function say(words, undo = null) {
  const box = document.createElement("div");
  box.className = "notice";
  const text = document.createElement("span");
  text.textContent = words;
  box.append(text);
  if (undo) box.append(button("Undo", async () => {
    box.remove();
    try {
      if (typeof undo === "function") await undo();
      else await send("/undo.json", { undo });
      if (typeof undo !== "function") location.reload();
    } catch (error) { say(error.message); }
  }));
  box.append(button("Close", () => box.remove(), "plain"));
  document.getElementById("notices").replaceChildren(box);
}

function button(words, act, kind = "") {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  made.className = kind;
  made.addEventListener("click", act);
  return made;
}

/** Whether a key press belongs to a text field and not to the page. */
export const typing = event =>
  event.ctrlKey || event.metaKey || event.altKey || event.isComposing ||
  event.target.closest("input:not([type=checkbox]):not([type=radio]), textarea, select, [contenteditable], dialog[open]") !== null;

function setUp() {
  for (const close of document.querySelectorAll("[data-close]")) {
    close.hidden = false;
    close.addEventListener("click", () => close.closest(".notice, dialog")?.remove());
  }
  // The notice's name has done its work: a page that is loaded again does not repeat it.
  const here = new URL(location.href);
  if (here.searchParams.has("notice")) {
    here.searchParams.delete("notice");
    history.replaceState(history.state, "", here);
  }
  for (const form of document.querySelectorAll("form[data-at-once]"))
    form.addEventListener("change", () => form.requestSubmit());
  for (const ask of document.querySelectorAll("form[data-ask]"))
    ask.addEventListener("submit", event => { if (!confirm(ask.dataset.ask)) event.preventDefault(); });
  for (const print of document.querySelectorAll("[data-print]")) {
    print.hidden = false;
    print.addEventListener("click", () => window.print());
  }
  document.querySelector(".problem")?.focus();
  if (document.querySelector("[data-job]")) import("/static/jobs.js").then(module => module.followAll());
  if (document.querySelector("[data-drop]")) import("/static/drop.js").then(module => module.setUp());
}

setUp();
