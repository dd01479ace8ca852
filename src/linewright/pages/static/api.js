// Questions to the server of this page: JSON in, JSON out, the page's token on every change.

const token = document.querySelector('meta[name="linewright-token"]')?.content ?? "";

export class Refused extends Error {
  constructor(status, data) {
    super(data?.error ?? (status ? `The server answered ${status}.` : "The server does not answer. Is it still running?"));
    this.status = status;
    this.data = data ?? {};
  }
}

export async function ask(method, path, data, signal) {
  const headers = { "X-Linewright-Token": token };
  if (data !== undefined) headers["Content-Type"] = "application/json";
  let reply;
  try {
    reply = await fetch(path, { method, headers, body: data === undefined ? undefined : JSON.stringify(data), signal });
  } catch (wrong) {
    if (wrong.name === "AbortError") throw wrong;
    throw new Refused(0);
  }
  const said = reply.status === 204 ? {} : await reply.json().catch(() => null);
  if (!reply.ok || said === null) throw new Refused(reply.status, said);
  return said;
}

// The address of a plan: folders stay folders, everything else is encoded.
export const at = (name) => name.split("/").map(encodeURIComponent).join("/");

// Questions that only matter in their newest form: an older one still under way is given up.
export function newest() {
  let last = null;
  return async (method, path, data) => {
    last?.abort();
    const mine = (last = new AbortController());
    try {
      return await ask(method, path, data, mine.signal);
    } catch (wrong) {
      if (wrong.name === "AbortError") return null;
      throw wrong;
    }
  };
}
