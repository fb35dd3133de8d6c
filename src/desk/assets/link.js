// What goes to the desk's server and comes back: files up, messages both ways.

const HERE = new URL('.', location.href);

export const at = (path) => new URL(path, HERE).href;

/** Sends a file; `progress` gets a share from 0 to 1. Resolves to the part or throws its refusal. */
export function upload(file, units, progress) {
  return new Promise((resolve, reject) => {
    const ask = new XMLHttpRequest();
    const query = new URLSearchParams({ name: file.name });
    if (units) query.set('units', units);
    ask.open('POST', at(`part?${query}`));
    ask.upload.onprogress = (e) => e.lengthComputable && progress(e.loaded / e.total);
    ask.onerror = () => reject(new Error(`error: ${file.name}: the connection was interrupted while the file was sent\nhint: see whether wayup desk still runs in its terminal`));
    ask.onload = () => {
      let said = null;
      try {
        said = JSON.parse(ask.responseText);
      } catch {
        // Not JSON: told below by the status alone.
      }
      if (ask.status === 200 && said?.part !== undefined) resolve(said);
      else reject(new Error(said?.error?.text || `error: ${file.name}: the desk answered ${ask.status}`));
    };
    ask.send(file);
  });
}

export async function json(path) {
  const answer = await fetch(at(path));
  if (!answer.ok) throw new Error(`the desk answered ${answer.status}`);
  return answer.json();
}

export async function bytes(path) {
  const answer = await fetch(at(path));
  if (!answer.ok) throw new Error(`the desk answered ${answer.status}`);
  return answer.arrayBuffer();
}

export const post = (path) => fetch(at(path), { method: 'POST' });

/** A socket that comes back by itself. `hear` gets each message, `state` true or false. */
export class Line {
  constructor(hear, state) {
    this.hear = hear;
    this.state = state;
    this.wait = 500;
    this.#call();
  }

  #call() {
    const url = new URL('ws', HERE);
    url.protocol = url.protocol.replace('http', 'ws');
    const socket = new WebSocket(url);
    socket.onopen = () => {
      this.socket = socket;
      this.wait = 500;
      this.state(true);
    };
    socket.onmessage = (e) => this.hear(JSON.parse(e.data));
    socket.onclose = () => {
      this.socket = null;
      this.state(false);
      setTimeout(() => this.#call(), this.wait);
      this.wait = Math.min(8000, 2 * this.wait);
    };
  }

  /** False where there is nobody to hear it. */
  say(message) {
    if (!this.socket) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }
}
