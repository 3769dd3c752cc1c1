// Questions to the desk's server. The token is in the page's own address.

export class Refused extends Error {
  constructor(answer) {
    super(answer.error);
    this.mistakes = answer.mistakes || [];
  }
}

export async function read(name) {
  return taken(await fetch(name, { cache: "no-store" }));
}

export async function ask(name, what) {
  const body = JSON.stringify(what);
  const headers = { "content-type": "application/json" };
  return taken(await fetch(name, { method: "POST", headers, body }));
}

async function taken(response) {
  let answer = null;
  try {
    answer = await response.json();
  } catch {
    throw new Refused({ error: "the desk does not answer; is it still open?" });
  }
  if (!response.ok) throw new Refused(answer);
  return answer;
}

// One line under the heading, for what has just happened or gone wrong.
export function say(words, wrong = false) {
  const place = document.getElementById("said");
  place.textContent = words;
  place.classList.toggle("wrong", wrong);
}
