// A click on the picture of the sheet sets the first free label and checks anew; without this
// script the labels are links that do the same, but forget what was typed and not yet checked.
document.addEventListener("click", (event) => {
  const label = event.target.closest("[data-start]");
  if (!label) return;
  event.preventDefault();
  const form = document.getElementById("print");
  form.elements.start.value = label.dataset.start;
  form.requestSubmit(form.elements.check);
});
