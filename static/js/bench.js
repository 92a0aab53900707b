// Many lots on one page: Enter saves the row one stands in, and a row that is saved leads on to the
// next. Without this script Enter saves all rows in which something is typed.
const form = document.querySelector("form.bench");
let sent = "";

form?.addEventListener("keydown", (event) => {
  const row = event.target.closest("li.one");
  if (event.key !== "Enter" || event.target.tagName !== "INPUT" || !row) return;
  event.preventDefault();
  row.querySelector("button[name=save]").click();
});

document.addEventListener("htmx:before:request", (event) => {
  sent = event.detail.ctx.sourceElement.closest("li.one")?.id ?? "";
});

// One that comes back refused keeps the eye and the hand.
document.addEventListener("htmx:after:swap", () => {
  const row = document.getElementById(sent);
  if (!row) return;
  const rows = [...row.parentElement.children];
  const ahead = rows.slice(rows.indexOf(row) + 1).find((one) => !one.matches(".done"));
  const target = row.matches(".done") ? ahead : row;
  target?.querySelector("input:not([type=hidden])")?.focus({ preventScroll: true });
  target?.scrollIntoView({ block: "center" });
});

// What was typed stays where it is when the book is not reached.
for (const fault of ["htmx:error", "htmx:response:error"]) {
  document.addEventListener(fault, () => {
    const said = document.getElementById("said");
    said.textContent = said.dataset.unreached;
    said.className = "errorlist";
  });
}
