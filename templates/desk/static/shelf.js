// The table of items: a cell is changed where it is. Without this each cell is a link to the page of its row.

function open(link) {
  const row = link.closest("tr");
  const cell = link.closest("td");
  const form = document.getElementById("cell-form").content.firstElementChild.cloneNode(true);
  const key = form.querySelector("input[data-key]");
  const text = form.querySelector("input[data-text]");
  key.name = row.dataset.key;
  key.value = row.dataset.row;
  text.name = `cell/${link.dataset.field}`;
  text.value = link.dataset.written;
  text.setAttribute("aria-label", link.getAttribute("aria-label"));
  if (cell.classList.contains("number")) text.inputMode = "decimal";
  link.hidden = true;
  cell.append(form);
  text.focus();
  text.select();
}

function leave(form) {
  const link = form.closest("td").querySelector("a.cell");
  form.remove();
  link.hidden = false;
  link.focus();
}

document.addEventListener("click", (event) => {
  const link = event.target.closest("a.cell");
  if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey && !event.button) {
    event.preventDefault();
    open(link);
  } else if (event.target.closest("[data-leave]")) {
    leave(event.target.closest("form"));
  }
});

document.addEventListener("keydown", (event) => {
  const form = event.target.closest("form.in-place");
  if (form && event.key === "Escape") leave(form);
});
