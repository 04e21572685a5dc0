// Follows the scores that were brought in, a line for each.

import { ask } from "/static/page.js";

const list = document.querySelector("[data-arrivals]");

function line(row) {
  const item = document.createElement("li");
  const main = document.createElement("span");
  main.className = "main";
  if (row.piece) {
    const link = document.createElement("a");
    link.href = `/pieces/${row.piece}`;
    link.textContent = row.state === "done" ? row.words : row.name;
    main.append(link);
  } else main.textContent = row.name;
  const state = document.createElement("span");
  state.className = row.state === "failed" ? "wrong" : "quiet";
  state.textContent = { done: "read", cancelled: "stopped" }[row.state] || row.words || "waiting";
  item.append(main, state);
  return item;
}

async function follow() {
  for (let pause = 300; ; pause = Math.min(1500, pause * 1.2)) {
    const told = await ask(`/library/arrivals/${list.dataset.arrivals}`);
    told.rows.forEach((row, at) => {
      const fresh = line(row);
      const old = list.children[at];
      if (!old) list.append(fresh);
      else if (old.textContent.trim() !== fresh.textContent) old.replaceWith(fresh);
    });
    if (told.over) return;
    await new Promise(resolve => setTimeout(resolve, pause));
  }
}

follow().catch(() => {});
