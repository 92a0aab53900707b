// Many lots on one page: Enter saves the row one stands in, and the next row is gone to.
// Without this script Enter saves all rows in which something is typed.
const form = document.querySelector("form.bench");
const ahead = (row) => row && [...row.parentElement.children].slice([...row.parentElement.children].indexOf(row) + 1);

form?.addEventListener("keydown", (event) => {
  const row = event.target.closest("li.one");
  if (event.key !== "Enter" || event.target.tagName !== "INPUT" || !row) return;
  event.preventDefault();
  row.querySelector("button[name=save]").click();
});

// A row that comes back saved leads on; one that comes back refused keeps the eye and the hand.
form?.addEventListener("htmx:afterSwap", () => {
  const row = document.getElementById(swapping);
  const target = row?.matches(".done")
    ? ahead(row).find((one) => !one.matches(".done"))
    : row;
  target?.querySelector("input:not([type=hidden])")?.focus({ preventScroll: true });
  target?.scrollIntoView({ block: "center" });
});

let swapping = "";
form?.addEventListener("htmx:beforeSwap", (event) => {
  swapping = event.detail.target.id;
});

// What was typed stays where it is when the server is not reached, and the row says so.
for (const fault of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
  form?.addEventListener(fault, () => {
    const said = document.getElementById("said");
    said.textContent = said.dataset.unreached;
    said.className = "errorlist";
  });
}
