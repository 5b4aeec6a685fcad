// Columns of a place: what stands in a column is shown while it is typed; a field is put where the cursor was last.
// Without this file a button shows the same.

const form = document.getElementById("fields");
const token = form.querySelector("input[name=form_token]").value;
const late = new Map();
let last = null;

async function look(place) {
  const body = new URLSearchParams({ column: place.dataset.column, from: form.dataset.from });
  for (const each of place.querySelectorAll("[name]:not(button, [data-pick])")) body.append(each.name, each.value);
  const asked = Symbol("asked");
  late.set(place, asked);
  const answer = await fetch(form.dataset.sampleAt, { method: "POST", body, headers: { "x-form-token": token } });
  if (!answer.ok || late.get(place) !== asked) return;
  const { cells, fault, heading, says } = await answer.json();
  const shown = place.querySelector("[data-sample]");
  if (heading && place.querySelector("[data-heading]")) place.querySelector("[data-heading]").textContent = heading;
  place.querySelector("[data-says]").textContent = says ?? "";
  if (fault) {
    const line = document.createElement("p");
    line.className = "fault";
    line.textContent = fault;
    shown.replaceChildren(line);
    return;
  }
  const list = document.createElement("ol");
  for (const cell of cells) list.append(Object.assign(document.createElement("li"), { textContent: cell }));
  shown.replaceChildren(list);
}

let rest = 0;
document.addEventListener("input", (event) => {
  const place = event.target.closest("[data-column]");
  if (!place) return;
  const pick = place.querySelector("[data-pick]");
  if (event.target.matches("[data-value]") && pick.value !== event.target.value) pick.value = "";
  clearTimeout(rest);
  rest = setTimeout(() => { look(place).catch(() => {}); }, 150);
});
document.addEventListener("change", (event) => {
  if (!event.target.matches("[data-pick]") || !event.target.value) return;
  const value = event.target.closest("[data-column]").querySelector("[data-value]");
  value.value = event.target.value;
  value.dispatchEvent(new Event("input", { bubbles: true }));
});
document.addEventListener("focusin", (event) => {
  if (event.target.matches("[data-value]")) last = event.target;
});
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-field]");
  if (!button || !last) return;
  const bare = !last.value.trim();
  const text = bare ? button.dataset.field : `{{ ${button.dataset.field} }}`;
  last.setRangeText(text, bare ? 0 : last.selectionStart, bare ? last.value.length : last.selectionEnd, "end");
  last.focus();
  last.dispatchEvent(new Event("input", { bubbles: true }));
});
