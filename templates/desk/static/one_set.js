// One set: each field saves when it is left, and what follows is put in place: figures, messages, drawing, listings.
// The desk answers with the parts of the page that have moved, by the stamps of those that are there.
// Without this file the same form is sent by its buttons.

const parser = new DOMParser();
const byId = (id) => document.getElementById(id);
const parts = () => [...document.querySelectorAll("[data-live]")];
const asking = () => ({ "x-parts": parts().map((each) => each.dataset.live).join() });
let queue = Promise.resolve();
let waiting = 0;

document.documentElement.classList.add("live");

// Which fields hold something that is not saved.

function stated(control) {
  if (control.type === "radio") return control.defaultChecked;
  if (control.tagName !== "SELECT") return control.defaultValue;
  const chosen = [...control.options].find((each) => each.defaultSelected) || control.options[0];
  return chosen ? chosen.value : "";
}
const typed = (control) => (control.type === "radio" ? control.checked : control.value);
const CONTROLS = "[form=fields][name]:not(button), .rename input[id]";
const unsaved = (of = [...document.querySelectorAll(CONTROLS)]) =>
  of.filter((each) => typed(each) !== stated(each) || each.ariaInvalid === "true");

// On a narrow page all but the first part is folded, unless it holds what was asked for or what is wrong.

if (matchMedia("(max-width: 44rem)").matches) {
  const asked = location.hash && byId(decodeURIComponent(location.hash.slice(1)));
  for (const fold of [...document.querySelectorAll(".folds")].slice(1)) {
    const holds = (each) => each && (fold.contains(each) || each === fold.parentElement);
    fold.open = holds(asked) || holds(document.activeElement) || Boolean(fold.querySelector("[autofocus], [role=alert]"));
  }
}

// A link to a field opens what it is folded in. Without this file the desk opens it, and the page is loaded anew.

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-field]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const name = link.dataset.field;
  const field = byId(`f/${name}`) || byId(`f/${name}/says`) || document.querySelector(`[id^="${CSS.escape(`f/${name}/`)}"]`)
    || byId(`f/${name}/0`) || byId(name.split("/")[0]);
  if (!field) return;
  event.preventDefault();
  for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  field.focus();
});

// Sending: a single field, or what a button does with the fields beside it; one after the other, each with the digests
// that the page has by then.

function send(fields, then) {
  const from = document.activeElement;
  waiting += 1;
  document.body.classList.add("saving");
  document.body.classList.remove("followed");
  queue = queue.then(async () => {
    const form = byId("fields");
    const body = new URLSearchParams();
    for (const hidden of form.querySelectorAll("input[type=hidden]")) body.append(hidden.name, hidden.value);
    for (const [name, value] of fields) body.append(name, value);
    const answer = await fetch(form.action, { method: "POST", body, headers: asking() });
    const at = document.activeElement;
    const stayed = !from.isConnected || at === from || at === document.body; // who went on meanwhile is left where she is
    await follow(answer, new Map(fields), stayed ? then : "");
  }).catch(() => { byId("moved").hidden = false; }).finally(() => {
    waiting -= 1;
    if (!waiting) document.body.classList.remove("saving");
  });
  return queue;
}

const isParts = (answer) => answer.headers.get("content-type").startsWith("application/json");

async function follow(answer, sent, then) {
  if (isParts(answer)) {
    const news = await answer.json();
    const isHead = news.names.at(-1) === "statuses"; // what is always in sight; the rest comes behind it
    place(news, sent, isHead ? "" : then);
    if (!isHead) return;
    document.body.classList.add("followed");
    const rest = await fetch(location.pathname, { headers: asking() });
    if (isParts(rest)) place({ ...await rest.json(), note: news.note }, sent, then);
    return;
  }
  const main = parser.parseFromString(await answer.text(), "text/html").querySelector("main");
  if (!main) throw new Error("no page");
  document.querySelector("main").replaceWith(main); // both values are shown, or what is in the way, or what follows
  main.focus();
  main.addEventListener("click", (event) => { // the way back is this very page, which is to be loaded anew
    const link = event.target.closest("a[href]");
    if (!link || link.pathname !== location.pathname) return;
    event.preventDefault();
    location.hash = link.hash;
    location.reload();
  });
}

// Putting in place: the parts that differ from what the desk last sent. What is typed and not saved stays, and so does
// the focus; a field that was just sent takes what the desk says of it, unless somebody typed on meanwhile.

const fresh = document.createElement("template");
function put(part, now) { // an element, or its stamp and figures
  if (typeof now === "string") {
    fresh.innerHTML = now;
    part.replaceWith(fresh.content.firstChild);
    return;
  }
  const [stamp, figures] = now;
  part.querySelectorAll("data").forEach((each, at) => {
    const [value, label] = figures[at];
    if (each.value !== value) each.value = value;
    if (each.textContent !== label) each.textContent = label;
  });
  part.dataset.live = stamp;
}

// Where the focus goes when what has it is put in anew: to the same again, else to what is nearest around it.
function nearest(at) {
  const around = [];
  for (let each = at; each; each = each.parentElement) if (each.id) around.push(each.id);
  const list = at && at.closest("[data-list]");
  const same = at && at.tagName === "BUTTON" && at.name ? `button[name="${CSS.escape(at.name)}"][value="${CSS.escape(at.value)}"]` : "";
  return [
    () => at && at.id && byId(at.id),
    () => same && document.querySelector(same),
    () => list && byId(`q/${list.dataset.list}`),
    () => around.map(byId).find(Boolean),
  ];
}

function place(news, sent, then) {
  const anew = Object.entries(news.moved).filter(([, now]) => typeof now === "string").map(([id]) => byId(id)).filter(Boolean);
  const inside = (chosen) => anew.flatMap((part) => [...part.querySelectorAll(chosen)]); // what of them is no longer there then
  const folds = inside("details[id]").map((each) => [each.id, each.open]);
  const kept = unsaved(inside(CONTROLS)).filter((each) => sent.get(each.name) !== each.value).map((each) => [each.id, typed(each)]);
  const at = document.activeElement;
  const selection = at && "selectionStart" in at ? [at.selectionStart, at.selectionEnd] : null;
  const near = nearest(at);
  const alerts = kept.map(([id]) => byId(id)).filter((each) => each && !sent.has(each.name)).map((each) => `w/${each.name}`)
    .map((id) => [id, [...(byId(id) || document.createElement("p")).querySelectorAll(".fault")]]);
  const looked = sent.has("do") ? [] : inside("[data-find]").filter((each) => each.elements.q.value)
    .map((each) => [each.elements.q, hitsOf(each)]); // what she is looking for, which no part knows
  const called = byId("name-of-set").textContent;
  for (const [id, now] of Object.entries(news.moved)) if (byId(id)) put(byId(id), now);
  for (const [asked, hits] of looked) {
    const again = byId(asked.id);
    if (!again || again === asked) continue;
    again.value = asked.value;
    hitsOf(again.form).replaceWith(hits);
  }
  for (const [id, open] of folds) {
    const fold = byId(id);
    if (fold && (open || !fold.querySelector("[role=alert]"))) fold.open = open;
  }
  for (const [id, value] of kept) {
    const control = byId(id);
    if (!control) continue;
    if (control.type === "radio") control.checked = value;
    else control.value = value;
  }
  for (const [id, faults] of alerts) { // what is wrong in a field that is still to be mended
    if (!faults.length || !byId(id) || byId(id).querySelector(".fault")) continue;
    byId(id).prepend(...faults);
    byId(`f/${id.slice(2)}`).ariaInvalid = "true";
    for (const each of faults) each.removeAttribute("role");
  }
  const led = (then || "").split(" ").map(byId).find(Boolean);
  const next = led || (at && !at.isConnected ? near.map((find) => find()).find(Boolean) : null);
  if (next) {
    (next.tagName === "DETAILS" ? next.querySelector("summary") : next).focus({ preventScroll: !led });
    if (selection && next.id === at.id && selection[0] !== null) next.setSelectionRange(...selection);
  }
  for (const area of document.querySelectorAll("[data-story]")) { // of a story that is being typed, what is offered
    if (typed(area) === stated(area)) continue;
    offer(area);
    preview(area);
  }
  document.title = document.title.replace(called, byId("name-of-set").textContent);
  document.body.dataset.reading = news.reading;
  if (sent.size) {
    byId("said").classList.toggle("empty", !news.note);
    byId("said").innerHTML = news.note;
  }
  const there = parts().map((each) => each.id);
  if (news.names.every((id, at) => id === there[at])) return;
  if (unsaved().length) byId("moved").hidden = false; // it has other parts by now, as once a set has figures
  else {
    const focus = document.activeElement.id; // the page that is loaded gives it to what its address names
    if (focus && focus !== "page") history.replaceState(null, "", `#${encodeURIComponent(focus)}`);
    location.reload();
  }
}

// What she does.

document.addEventListener("change", (event) => {
  const control = event.target;
  if (control.getAttribute("form") !== "fields" || control.closest("[data-together], .story")) return;
  if (typed(control) === stated(control)) return;
  send([[control.name, control.value]]);
});

document.addEventListener("keydown", (event) => {
  const control = event.target;
  if (event.key === "Enter" && control.tagName === "INPUT" && control.getAttribute("form") === "fields") {
    event.preventDefault();
    control.dispatchEvent(new Event("change", { bubbles: true }));
  }
});

document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (event.target.id === "fields") {
    event.preventDefault();
    event.stopImmediatePropagation();
    const together = button && button.closest("[data-together]");
    const beside = together ? [...together.querySelectorAll("[name]:not(button)")].map((each) => [each.name, each.value]) : [];
    if (button) send([...beside, [button.name, button.value]], button.dataset.then);
  } else if (event.target.matches("[data-find]")) {
    event.preventDefault();
    event.stopImmediatePropagation();
    find(event.target);
  } else if (event.target.matches(".puts")) {
    event.preventDefault();
    event.stopImmediatePropagation();
    const slot = event.target.querySelector("#slot");
    send([...(slot ? [["slot", slot.value]] : []), [button.name, button.value]],
      `q/${button.value.split(" ")[1]}`);
  } else if (waiting && button) { // a form of its own, once the page has the digests of what is being saved
    event.preventDefault();
    event.stopImmediatePropagation();
    const action = event.target.getAttribute("action");
    queue.then(() => {
      const form = [...document.forms].find((each) => each.getAttribute("action") === action);
      const again = form && [...form.querySelectorAll("button")].find((each) => each.value === button.value);
      if (again) form.requestSubmit(again);
    });
  }
}, true);

// Items are looked for while she types; what is there stands below the field.

const hitsOf = (form) => form.parentElement.querySelector(`[data-hits="${CSS.escape(form.elements.at.value)}"]`);
async function find(begun) {
  const { form } = byId(begun.elements.q.id); // the part that it is in may be another one by now
  const asked = new URLSearchParams(new FormData(form));
  const hits = hitsOf(form);
  if (!asked.get("q").trim()) { hits.replaceChildren(); return; }
  const answer = await fetch(`${form.action}?${asked}`);
  const page = parser.parseFromString(await answer.text(), "text/html");
  const list = page.querySelector("#hits");
  if (list && new FormData(form).get("q") === asked.get("q")) {
    hits.replaceChildren(...document.adoptNode(list).children);
    hits.scrollIntoView({ block: "nearest" });
  }
}
let pause;
document.addEventListener("input", (event) => {
  const form = event.target.closest("[data-find]");
  if (form) {
    event.stopPropagation();
    clearTimeout(pause);
    pause = setTimeout(() => find(form), 180);
  } else if ("story" in event.target.dataset) {
    offer(event.target);
    clearTimeout(pause);
    pause = setTimeout(() => preview(event.target), 250);
  }
}, true);

// Dragging an entry by its grip to another place of its list; the buttons do the same.

let dragged = null;
document.addEventListener("pointerdown", (event) => {
  const entry = event.target.closest(".grip") && event.target.closest("li");
  if (entry) entry.draggable = true;
});
document.addEventListener("dragstart", (event) => {
  dragged = event.target.closest ? event.target.closest("li[data-index]") : null;
  if (!dragged) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", dragged.dataset.index);
  dragged.classList.add("dragged");
});
const over = (event) => {
  const list = dragged && dragged.parentElement;
  const entry = [...(list ? list.children : [])].find((each) => each.contains(event.target));
  return entry && entry !== dragged ? entry : null;
};
document.addEventListener("dragover", (event) => {
  document.querySelectorAll(".over").forEach((each) => each.classList.remove("over"));
  const entry = over(event);
  if (!entry) return;
  event.preventDefault();
  entry.classList.add("over");
});
document.addEventListener("drop", (event) => {
  const entry = over(event);
  if (!entry) return;
  event.preventDefault();
  send([["do", `move ${entry.parentElement.dataset.list} ${dragged.dataset.index} ${entry.dataset.index}`]]);
});
document.addEventListener("dragend", () => {
  document.querySelectorAll(".over").forEach((each) => each.classList.remove("over"));
  if (dragged) { dragged.classList.remove("dragged"); dragged.draggable = false; }
  dragged = null;
});

// The story: what can be filled in is offered once braces are typed, and put in where the cursor is.

const BEGUN = /\{\{?\s*([\w.| ]*)$/;
function offer(area) {
  const begun = BEGUN.exec(area.value.slice(0, area.selectionStart));
  for (const word of area.closest(".story").querySelectorAll("[data-insert]")) {
    word.parentElement.hidden = Boolean(begun) && !word.dataset.insert.slice(3).startsWith(begun[1].trim());
  }
  area.closest(".story").classList.toggle("offering", Boolean(begun));
}
document.addEventListener("keydown", (event) => {
  const story = event.target.closest(".story.offering");
  if (!story) return;
  const words = [...story.querySelectorAll("li:not([hidden]) > [data-insert]")];
  const at = words.indexOf(event.target);
  if (event.key === "Escape") {
    story.classList.remove("offering");
    story.querySelector("textarea").focus();
  } else if ((event.key === "ArrowDown" && (at >= 0 || words.length)) || (event.key === "ArrowUp" && at >= 0)) {
    event.preventDefault();
    const next = words[at + (event.key === "ArrowDown" ? 1 : -1)];
    if (next) next.focus();
    else if (event.key === "ArrowUp") story.querySelector("textarea").focus();
  }
});
document.addEventListener("click", (event) => {
  const word = event.target.closest("[data-insert]");
  if (!word) return;
  const area = byId(word.dataset.into);
  const before = area.value.slice(0, area.selectionStart).replace(BEGUN, "");
  const after = area.value.slice(area.selectionEnd);
  area.value = before + word.dataset.insert + after;
  area.focus();
  area.setSelectionRange(before.length + word.dataset.insert.length, before.length + word.dataset.insert.length);
  offer(area);
  preview(area);
});
// A story is saved when its whole place is left: not on the way to a word, which would save half of one.
document.addEventListener("focusout", (event) => {
  const story = event.target.closest(".story");
  if (story) setTimeout(() => {
    const area = story.querySelector("[data-story]");
    if (!area.isConnected || story.contains(document.activeElement) || typed(area) === stated(area)) return;
    send([[area.name, area.value]]);
  });
});

async function preview(area) {
  const body = new URLSearchParams({ text: area.value, language: area.dataset.story });
  for (const hidden of byId("fields").querySelectorAll("input[type=hidden]")) body.append(hidden.name, hidden.value);
  const answer = await fetch(byId("fields").action.replace(/change$/, "story"), { method: "POST", body });
  if (!answer.ok) return;
  const look = await answer.json();
  const story = area.closest(".story");
  if (!look.fault) story.querySelector("iframe").srcdoc = look.page;
  const fault = story.querySelector("[data-story-fault]");
  fault.textContent = look.fault;
  fault.hidden = !look.fault;
}

// When the shop was read anew or looked through, the page takes it in. What is typed and not saved stays: over a file
// that another program changed meanwhile she is asked first.

addEventListener("desk:news", (event) => {
  event.preventDefault();
  if (waiting || dragged) return;
  queue = queue.then(async () => {
    const answer = await fetch(location.pathname, { headers: asking() });
    const news = isParts(answer) ? await answer.json() : null;
    if (news && (!unsaved().length || !("fields" in news.moved))) place(news, new Map());
    else byId("moved").hidden = false;
  }).catch(() => {});
});
