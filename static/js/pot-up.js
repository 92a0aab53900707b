// Fills in the pots that the units make at the chosen size, until somebody types another number.
// Without this script the same is done when the form is saved with the box left empty.
const { units, pots, pot_size: size } = document.getElementById("id_units").form.elements;
let own = pots.value !== "";

function fill() {
  if (own) return;
  const [option] = size.selectedOptions;
  const [held, least] = [Number(option.dataset.pieces), Number(option.dataset.least)];
  const taken = Number(units.value);
  if (!held || !Number.isInteger(taken) || taken < 1) {
    pots.value = "";
    return;
  }
  const pieces = taken * Number(units.dataset.pieces);
  const full = Math.floor(pieces / held) + (pieces % held >= least ? 1 : 0);
  pots.value = Math.min(Math.max(full, 1), taken);
}

pots.addEventListener("input", () => {
  own = pots.value !== "";
});
units.addEventListener("input", fill);
size.addEventListener("input", fill);
