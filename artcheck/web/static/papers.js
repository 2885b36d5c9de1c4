// The papers: asked for with a click, shown as links, hidden again when the order changes.

import * as server from "./server.js";

const by = (id) => document.getElementById(id);

/** What the papers shown were made for, what is being made, and what the order asks for now. */
let shown = "";
let making = "";
let asked = "";

const keyOf = ({ arts, order }) => JSON.stringify([arts, order]);

/** After any change of the order. */
export function follow(request) {
  asked = keyOf(request);
  settle();
}

/** Make the papers of the order. */
export async function make(request) {
  const key = keyOf(request);
  if (key === making) return;
  asked = making = key;
  tell([]);
  settle();
  try {
    const { html } = await server.papers(request);
    if (making !== key) return;
    by("paper-links").innerHTML = html;
    shown = key;
  } catch (error) {
    if (making !== key) return;
    tell(error.faults ?? [String(error)]);
  }
  making = "";
  settle();
}

function settle() {
  const busy = making !== "" && making === asked;
  const stale = shown !== "" && shown !== asked;
  const fresh = shown !== "" && !stale;
  const held = document.activeElement === by("make-papers");
  by("make-papers").hidden = fresh;
  by("make-papers").setAttribute("aria-disabled", busy);
  by("make-papers").textContent = stale ? "Make them again" : "Make the papers";
  by("paper-says").textContent = busy ? "writing the papers …" : stale ? "The order has changed since they were made." : "";
  by("paper-links").hidden = !fresh;
  if (fresh && held) by("paper-links").focus({ preventScroll: true });
}

function tell(faults) {
  by("paper-faults").textContent = faults.join("\n");
  by("paper-faults").hidden = faults.length === 0;
}
