// The files of the order: sent, measured, stopped; each with its state beside its name.

import { artQuery } from "./order.js";
import * as server from "./server.js";

const EVERY_MS = 200;
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

/**
 * One entry of the list: its state is "sending", "measuring", "ready", "fault" or "missing".
 * @param {() => void} changed called after every change of state
 */
export class Art {
  constructor(file, changed) {
    this.file = file;
    this.changed = changed;
    this.state = "sending";
    this.doing = "sending";
    this.faults = [];
    this.before = [];
    this.print = null;
    this.asked = "";
    this.control = new AbortController();
  }

  #set(state, more = {}) {
    Object.assign(this, { state, faults: [] }, more);
    this.changed(this);
  }

  /** Send the bytes; the server's hash of them, or null. */
  async send(bytes) {
    try {
      const { art } = await server.sendFile(bytes, this.file, this.control.signal);
      return art;
    } catch (error) {
      this.#failed(error);
      return null;
    }
  }

  /** Measure for what the print asks (paper, page), unless that is done. */
  async measure(print) {
    this.print = print;
    const query = artQuery(print);
    const asked = `${print.art} ${query}`;
    if (asked === this.asked && this.state !== "missing") return;
    this.asked = asked;
    this.#set("measuring", { doing: "waiting" });
    try {
      let seen = await server.look(print.art, this.file, query, this.control.signal);
      while (seen.state === "measuring" && asked === this.asked) {
        if (seen.doing !== this.doing) this.#set("measuring", { doing: seen.doing });
        await wait(EVERY_MS);
        seen = await server.look(print.art, this.file, query, this.control.signal);
      }
      if (asked === this.asked) this.#set(seen.state, seen);
    } catch (error) {
      if (asked === this.asked) this.#failed(error);
    }
  }

  /** Stop sending and measuring. */
  stop() {
    this.control.abort();
    if (this.print && this.state === "measuring") server.stop(this.print.art).catch(() => {});
  }

  #failed(error) {
    if (error.name === "AbortError") return;
    this.asked = "";
    this.#set(error.status === 404 ? "missing" : "fault", { faults: error.faults ?? [String(error)] });
  }
}

/** The address of one of the art's pictures: "picture" or "removed". */
export function pictureOf(print, which) {
  return `/api/art/${print.art}/${which}?${artQuery(print)}`;
}

/**
 * The list over the page: every file with its state and what may be done with it. An entry that
 * stays the same is left alone, so that it keeps the focus and is not read out again.
 */
export function drawList(list, arts, shown, actions) {
  arts.forEach((art, number) => {
    const drawn = list.children[number];
    const says = JSON.stringify([art.file, art.state, art.doing, art.faults, art.before, number === shown]);
    if (drawn?.art === art && drawn.number === number && drawn.says === says) return;
    const made = Object.assign(entryOf(art, number, number === shown, actions), { art, number, says });
    const held = drawn?.art === art && drawn.contains(document.activeElement) && document.activeElement.className;
    if (drawn) drawn.replaceWith(made);
    else list.append(made);
    if (held) made.querySelector(`.${held}`)?.focus();
  });
  while (list.children.length > arts.length) list.lastElementChild.remove();
}

function entryOf(art, number, isShown, { show, remove, repeat }) {
  const entry = document.createElement("li");
  entry.className = art.state;
  const name = document.createElement("button");
  name.type = "button";
  name.className = "name";
  name.textContent = art.file;
  name.setAttribute("aria-current", String(isShown));
  name.addEventListener("click", () => show(number));
  const away = document.createElement("button");
  away.type = "button";
  away.className = "away";
  const busy = art.state === "sending" || art.state === "measuring";
  away.textContent = busy ? "Cancel" : "Remove";
  away.setAttribute("aria-label", `${away.textContent} ${art.file}`);
  away.addEventListener("click", () => remove(art));
  entry.append(name, words(art), ...art.before.map((job) => earlier(job, repeat)), away);
  return entry;
}

function words(art) {
  const said = document.createElement("span");
  said.className = "said";
  if (art.faults.length) said.setAttribute("role", "alert");
  said.textContent = art.faults.length ? art.faults.join(" ") : art.state === "ready" ? "" : `${art.doing} …`;
  return said;
}

function earlier(job, repeat) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "earlier";
  button.textContent = `${job.same ? "Same file as in" : "Looks like the art of"} “${job.name}”: repeat that job`;
  button.addEventListener("click", () => repeat(job.job));
  return button;
}
