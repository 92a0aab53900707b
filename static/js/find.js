// Shows what there is of what is typed in the box at the top, while one types. Without this script
// the button leads to a page that shows the same.
const box = document.getElementById("find-code");
const list = document.getElementById("matches");
let waiting, asked;

async function look() {
  asked?.abort();
  asked = new AbortController();
  const text = box.value.trim();
  list.hidden = !text;
  if (!text) return;
  try {
    const address = `${box.dataset.matches}?${new URLSearchParams({ code: text })}`;
    const answer = await fetch(address, { signal: asked.signal });
    if (answer.ok && !answer.redirected) list.innerHTML = await answer.text();
    else list.hidden = true;
  } catch {
    list.hidden = true; // no signal, or typed on: the button still works
  }
}

box.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(look, 150);
});

// Down the list and up again; Escape, or a tap elsewhere, puts it away.
box.form.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    list.hidden = true;
    box.focus();
  }
  const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  const stops = [box, ...list.querySelectorAll("a")];
  if (!step || list.hidden) return;
  event.preventDefault();
  stops[Math.max(stops.indexOf(document.activeElement) + step, 0)]?.focus();
});
document.addEventListener("click", (event) => {
  if (!box.form.contains(event.target)) list.hidden = true;
});
