// The requests to the server. A refusal becomes an Error whose `faults` are lines in plain words.

async function answered(response) {
  const data = response.headers.get("content-type")?.includes("json") ? await response.json() : {};
  if (response.ok) return data;
  const error = new Error("refused");
  error.status = response.status;
  error.faults = data.faults ?? [`The server answered ${response.status}.`];
  throw error;
}

async function ask(address, options) {
  let response;
  try {
    response = await fetch(address, options);
  } catch (reason) {
    if (reason.name === "AbortError") throw reason;
    const error = new Error("away");
    error.faults = ["artcheck does not answer. Is it still running?"];
    throw error;
  }
  return answered(response);
}

const json = (method, body, signal) => ({
  method, signal, headers: { "content-type": "application/json" }, body: JSON.stringify(body),
});

export const sendFile = (file, name, signal) =>
  ask(`/api/art?${new URLSearchParams({ name })}`, { method: "PUT", body: file, signal });
export const look = (art, name, query, signal) => {
  query.set("name", name);
  return ask(`/api/art/${art}?${query}`, { signal });
};
export const stop = (art) => ask(`/api/art/${art}`, { method: "DELETE" });
export const evaluate = (request, signal) => ask("/api/evaluate", json("POST", request, signal));
export const report = (request) => ask("/api/report", json("POST", request));
export const papers = (request) => ask("/api/papers", json("POST", request));
export const keepJob = (request) => ask("/api/jobs", json("POST", request));
export const jobs = () => ask("/api/jobs");
export const repeat = (job) => ask(`/api/jobs/${encodeURIComponent(job)}/repeat`, { method: "POST" });
export const separate = (request) => ask("/api/separations", json("POST", request));
export const lookAtSeparation = (key) => ask(`/api/separations/${key}`);
export const stopSeparation = (key) => ask(`/api/separations/${key}`, { method: "DELETE" });
