// A place to drop a file on, around a file field that does the same by hand.

for (const place of document.querySelectorAll("[data-drop]")) {
  const field = place.querySelector("input[type=file]");
  for (const kind of ["dragenter", "dragover"]) {
    place.addEventListener(kind, (event) => { event.preventDefault(); place.classList.add("over"); });
  }
  for (const kind of ["dragleave", "drop"]) {
    place.addEventListener(kind, () => place.classList.remove("over"));
  }
  place.addEventListener("drop", (event) => {
    event.preventDefault();
    if (event.dataTransfer.files.length) {
      field.files = event.dataTransfer.files;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      field.focus();
    }
  });
}
