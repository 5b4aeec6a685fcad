// Print: a click on the drawn sheet says where the first one goes; how many sheets it all takes is counted as one types.

const form = document.getElementById("wanted");
const start = document.getElementById("start");
const sum = document.getElementById("sum");
const places = [...document.querySelectorAll("[data-place]")];
document.body.classList.add("live-sheet");

function first() {
  const number = Number(start ? start.value : 1);
  return Number.isInteger(number) && number >= 1 ? number : 1;
}

function redraw() {
  for (const place of places) {
    const number = Number(place.dataset.place);
    const state = number < first() ? "used" : number === first() ? "next" : "free";
    place.querySelector("rect").setAttribute("class", state);
  }
  if (!form) return;
  const counts = [...form.querySelectorAll('input[name^="count/"]')].map((each) => Number(each.value) || 0);
  const count = counts.reduce((all, each) => all + each, 0);
  const taken = first() - 1 + count * Number(form.dataset.faces);
  const sheets = Math.ceil(taken / Number(form.dataset.places));
  const says = sheets === 1 ? sum.dataset.one : sum.dataset.several;
  sum.textContent = count ? says.replace("{count}", sheets).replace("{all}", count) : "";
}

for (const place of places) {
  place.addEventListener("click", () => {
    start.value = place.dataset.place;
    start.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
if (form) form.addEventListener("input", redraw);
redraw();
