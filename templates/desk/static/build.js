// A build at work: its progress as it comes; the page is loaded again when it has ended.

const bar = document.getElementById("bar");
const step = document.getElementById("step");
const of = document.getElementById("of");
const events = new EventSource("/build/events");

events.addEventListener("message", (event) => {
  const now = JSON.parse(event.data);
  if (!now.running) {
    events.close();
    location.reload();
    return;
  }
  const word = step.dataset[now.step];
  if (step.textContent !== word) step.textContent = word;
  if (now.total) {
    bar.max = now.total;
    bar.value = now.done;
    of.textContent = of.dataset.of.replace("{done}", now.done).replace("{total}", now.total);
  } else {
    bar.removeAttribute("value");
    of.textContent = "";
  }
});
