// The page: files come in, the order changes, the server's answer is shown.

import { Art, drawList } from "./arts.js";
import * as form from "./form.js";
import { emptyPrint, fromAddress, fromServer, inUnit, inches, toAddress, toRequest } from "./order.js";
import * as panel from "./panel.js";
import * as papers from "./papers.js";
import * as server from "./server.js";
import { dress, pointAt, setLayers, showArt } from "./stage.js";

const by = (id) => document.getElementById(id);
let order = fromAddress(location.hash.slice(1));
let arts = order.prints.map((print) => new Art(print.file, artChanged));
let asking = null;
let addressLater = 0;

const ADDRESS_AFTER_MS = 250;

/** Files that the server would not take: told beside their names until removed. */
const refused = [];

// --- state to page -----------------------------------------------------------------------------

/** After every change: the address, the form, the list, and a new answer. */
function changed() {
  keepAddress();
  form.fill(order);
  draw();
  arts.forEach((art, number) => order.prints[number].art && art.measure(order.prints[number]));
  answer();
}

/** The address follows a little later: browsers allow few changes of it a second. */
function keepAddress() {
  clearTimeout(addressLater);
  addressLater = setTimeout(writeAddress, ADDRESS_AFTER_MS);
}

function writeAddress() {
  const address = toAddress(order);
  history.replaceState(null, "", address ? `#${address}` : location.pathname);
}

function draw() {
  document.body.classList.toggle("empty", arts.length === 0);
  document.title = order.name || order.prints[order.shown]?.file || "artcheck";
  drawList(by("arts"), [...arts, ...refused], arts.length > 1 ? order.shown : -1, { show, remove, repeat });
}

function artChanged(art) {
  draw();
  if (art.state === "ready" || art.state === "fault") answer();
}

/** The prints that count: art that cannot be measured is told of, and the rest goes on without it. */
const sound = () => arts.flatMap((art, number) => (art.state === "fault" ? [] : [number]));

/** Ask for an answer once all art is measured; a newer question takes the place of an older. */
async function answer() {
  const counting = sound();
  const ready = counting.length > 0 && counting.every((number) => arts[number].state === "ready");
  if (ready && !counting.includes(order.shown)) {
    [order.shown] = counting;
    form.fill(order);
    draw();
  }
  document.body.classList.toggle("waiting", !ready);
  if (!ready || !form.isSound()) return;
  asking?.abort();
  asking = new AbortController();
  try {
    const data = await server.evaluate(toRequest(order, sound()), asking.signal);
    tell([]);
    showAnswer(data);
  } catch (error) {
    if (error.name !== "AbortError") tell(error.faults ?? [String(error)]);
  }
}

function showAnswer(data) {
  const print = order.prints[order.shown];
  showArt(print, arts[order.shown]);
  const open = new Set([...document.querySelectorAll("main details[open][data-keep]")].map((one) => one.dataset.keep));
  const held = holdFocus();
  const pictures = panel.keptPictures();
  for (const [part, html] of Object.entries(data.parts)) if (by(part).lastHtml !== html) by(part).innerHTML = by(part).lastHtml = html;
  for (const one of document.querySelectorAll("main details[data-keep]")) one.open = open.has(one.dataset.keep);
  held();
  dress(by("cloth"), data.cloth);
  setLayers(order.on);
  panel.drawPictures(print, pictures);
  panel.follow(data.separation, print);
  papers.follow(toRequest(order, sound()));
  by("ruler").value = data.width_in;
  const says = `${inUnit(data.width_in, order.unit)} ${order.unit}`;
  by("ruler").setAttribute("aria-valuetext", says);
  by("ruler-says").textContent = says;
  document.querySelector("[name=width]").placeholder = inUnit(data.width_in, order.unit);
  document.body.classList.add("answered");
}

/** What has the focus is drawn anew: the function given back returns the focus to its like. */
function holdFocus() {
  const one = document.activeElement;
  const keep = one.closest("details[data-keep]")?.dataset.keep;
  const { place, method, copy: copied } = one.dataset;
  const like = [
    one.matches("summary") && `[data-keep="${keep}"] > summary`,
    place && `[data-place="${place}"]`, copied && `[data-copy="${copied}"]`,
    method !== undefined && ".chosen [data-method]",
    one.dataset.layer && `.switches [data-layer="${one.dataset.layer}"]`,
  ].find(Boolean);
  return () => {
    if (!one.isConnected) (document.querySelector(like || "#answer") ?? by("answer")).focus({ preventScroll: true });
  };
}

function tell(faults) {
  by("faults").textContent = faults.join("\n");
  by("faults").hidden = faults.length === 0;
}

// --- files -------------------------------------------------------------------------------------

async function add(files) {
  await Promise.all([...files].map(async (file) => {
    const art = new Art(file.name || "pasted image", artChanged);
    arts.push(art);
    const print = emptyPrint("", art.file);
    order.prints.push(print);
    draw();
    const digest = await art.send(file);
    if (!arts.includes(art)) return;
    if (digest === null) {
      order.prints.splice(arts.indexOf(art), 1);
      arts.splice(arts.indexOf(art), 1);
      refused.push(art);
      changed();
      return;
    }
    const missing = arts.find((one) => one.state === "missing" && one.print?.art === digest);
    print.art = digest;
    if (missing) {
      remove(art);
      missing.measure(missing.print);
    } else {
      order.shown = arts.indexOf(art);
    }
    changed();
  }));
}

function show(number) {
  order.shown = number;
  changed();
}

function remove(art) {
  if (refused.includes(art)) {
    refused.splice(refused.indexOf(art), 1);
    draw();
    return;
  }
  const number = arts.indexOf(art);
  art.stop();
  arts.splice(number, 1);
  order.prints.splice(number, 1);
  order.shown = Math.max(0, Math.min(order.shown, arts.length - 1));
  changed();
  if (document.activeElement === document.body) by("files").focus({ preventScroll: true });
}

async function repeat(job) {
  try {
    order = fromServer(await server.repeat(job));
    arts.forEach((art) => art.stop());
    arts = order.prints.map((print) => new Art(print.file, artChanged));
    changed();
    window.scrollTo(0, 0);
  } catch (error) {
    tell(error.faults ?? [String(error)]);
  }
}

// --- what people do ----------------------------------------------------------------------------

form.onChange(
  (field) => {
    if (field.name === "unit") convertWidths(field.value);
    form.take(order, field);
    changed();
  },
  (number) => {
    const print = order.prints[order.shown];
    if (!print) return;
    if (number === null) print.brands.push({ name: "", colour: "", critical: false });
    else print.brands.splice(number, 1);
    changed();
  },
);

function convertWidths(unit) {
  for (const print of order.prints) {
    if (print.width !== "") print.width = inUnit(inches(print.width, order.unit), unit);
  }
}

by("ruler").addEventListener("input", () => {
  order.prints[order.shown].width = inUnit(Number(by("ruler").value), order.unit);
  changed();
});

by("files").addEventListener("change", () => {
  add([...by("files").files]);
  by("files").value = "";
});
document.addEventListener("dragover", (event) => {
  event.preventDefault();
  document.body.classList.add("over");
});
document.addEventListener("dragleave", (event) => {
  if (event.relatedTarget === null) document.body.classList.remove("over");
});
document.addEventListener("drop", (event) => {
  event.preventDefault();
  document.body.classList.remove("over");
  add(event.dataTransfer.files);
});
document.addEventListener("paste", (event) => {
  if (event.clipboardData.files.length) {
    event.preventDefault();
    add(event.clipboardData.files);
  }
});

document.addEventListener("input", (event) => {
  const print = order.prints[order.shown];
  if (by("choice").contains(event.target) && panel.take(print, event.target)) changed();
});

document.addEventListener("change", (event) => {
  const { layer } = event.target.dataset;
  if (event.target.name === "view") panel.look(event.target, order.prints[order.shown]);
  if (layer === undefined) return;
  order.on = order.on.filter((one) => one !== layer);
  if (event.target.checked) order.on.push(layer);
  setLayers(order.on);
  keepAddress();
});

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button");
  if (button?.dataset.place) {
    const { place, layer } = button.dataset;
    if (layer && !order.on.includes(layer)) order.on.push(layer);
    setLayers(order.on);
    pointAt(place);
    keepAddress();
  } else if (button?.dataset.method !== undefined) {
    order.prints[order.shown].method = button.dataset.method;
    changed();
  } else if (button?.dataset.copy) {
    await copy(by(button.dataset.copy), button);
  }
});

async function copy(source, button) {
  const text = [...source.children].map((line) => line.textContent).join("\n");
  try {
    await navigator.clipboard.writeText(text);
    button.textContent = "Copied";
  } catch {
    getSelection().selectAllChildren(source);
    button.textContent = "Selected: press Ctrl+C";
  }
}

by("make").addEventListener("click", () => panel.make(toRequest(order, sound())));
by("unmake").addEventListener("click", () => panel.stop());
by("make-papers").addEventListener("click", () => papers.make(toRequest(order, sound())));

by("keep").addEventListener("click", async () => {
  try {
    const kept = await server.keepJob(toRequest(order, sound()));
    by("kept").replaceChildren(`Written to ${kept.folder}. `, link(`/jobs/${kept.job}/report.html`, "Open"), " ", link(`/jobs/${kept.job}/${kept.job}.zip`, "Save as zip"));
    listJobs();
  } catch (error) {
    by("kept").textContent = (error.faults ?? [String(error)]).join(" ");
  }
});

by("json").addEventListener("click", async () => {
  try {
    const data = await server.report(toRequest(order, sound()));
    const address = URL.createObjectURL(new Blob([JSON.stringify(data, null, 2)], { type: "application/json" }));
    const saved = link(address, "");
    saved.download = "report.json";
    saved.click();
    setTimeout(() => URL.revokeObjectURL(address), 1000);
  } catch (error) {
    tell(error.faults ?? [String(error)]);
  }
});

function link(address, words) {
  const made = document.createElement("a");
  made.href = address;
  made.textContent = words;
  if (address.endsWith(".html")) made.target = "_blank";
  return made;
}

async function listJobs() {
  const found = await server.jobs().catch(() => []);
  by("jobs").hidden = found.length === 0;
  by("jobs").querySelector("ul").replaceChildren(...found.map((job) => {
    const entry = document.createElement("li");
    const name = document.createElement("b");
    name.textContent = job.name;
    const headline = document.createElement("span");
    headline.textContent = job.headline;
    const again = document.createElement("button");
    again.type = "button";
    again.textContent = "Repeat";
    again.setAttribute("aria-label", `Repeat ${job.name}`);
    again.addEventListener("click", () => repeat(job.job));
    entry.append(name, headline, link(`/jobs/${job.job}/report.html`, "Report"), again);
    return entry;
  }));
}

window.addEventListener("pagehide", writeAddress);

window.addEventListener("hashchange", () => {
  clearTimeout(addressLater);
  order = fromAddress(location.hash.slice(1));
  arts.forEach((art) => art.stop());
  arts = order.prints.map((print) => new Art(print.file, artChanged));
  changed();
});

listJobs();
changed();
