// Moves the focus to the next field, stores typed readings on this phone, and resends them until
// the book acknowledges them. Every page also works without this script.
(() => {
  "use strict";
  const WAITING = "swellbook-waiting", DRAFT = "swellbook-draft ";
  const AGAIN = 4000;

  // Storage may be forbidden or full; the page then works as it does without the script.
  const stored = (name) => {
    try { return JSON.parse(localStorage.getItem(name)); } catch { return null; }
  };
  const store = (name, value) => {
    try {
      if (value === null) localStorage.removeItem(name);
      else localStorage.setItem(name, JSON.stringify(value));
      return true;
    } catch { return false; }
  };
  const waiting = () => stored(WAITING) || [];
  const drop = (number) => store(WAITING, waiting().filter((one) => one.number !== number));

  // A gauge types its value and Enter. Some send a second Enter at once: it must not skip a place
  // or press a button.
  const fields = (form) => [...form.querySelectorAll(".edge-of input")];
  const AT_ONCE = 250;
  let entered = -Infinity;
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter") return;
    const again = event.timeStamp - entered < AT_ONCE;
    if (field.id === "write" && again) event.preventDefault();
    if (!(field instanceof HTMLInputElement) || !field.closest(".edge-of")) return;
    event.preventDefault();
    if (again && !field.value) return;
    entered = event.timeStamp;
    const all = fields(field.form);
    const next = all[all.indexOf(field) + 1];
    (next || field.form.querySelector("#write")).focus();
    if (next) next.select();
  });

  // Marks a refused field for screen readers.
  document.addEventListener("htmx:afterSettle", () => {
    for (const says of document.querySelectorAll(".says")) {
      const field = document.getElementById(says.id.slice("says-".length));
      if (says.querySelector(".error")) field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
    }
  });

  // Restores typed but unwritten readings when the page is reopened.
  const draftOf = (form) => DRAFT + form.dataset.draft;
  const typed = (form) => fields(form).map((field) => [field.name, field.value]).filter((pair) => pair[1]);
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const draft = stored(draftOf(form));
    const empty = typed(form).length === 0;
    if (draft && empty) {
      for (const [name, value] of draft.values) {
        const field = form.elements.namedItem(name);
        if (field instanceof HTMLInputElement) field.value = value;
      }
      const next = fields(form).find((field) => !field.value);
      if (next) next.focus();
      if (typed(form).length) addEventListener("load", () => form.dispatchEvent(new Event("input")));
    }
    form.addEventListener("input", () => {
      const values = typed(form);
      const path = location.pathname + location.search;
      store(draftOf(form), values.length ? { values, path, words: form.dataset.outbox } : null);
    });
  }

  // The list of readings that wait to be sent, and of drafts on other pages.
  const box = document.getElementById("outbox");
  const line = (words, ...ways) => {
    const row = document.createElement("div");
    const text = document.createElement("span");
    text.textContent = words;
    row.append(text, ...ways);
    return row;
  };
  const way = (path, words) => {
    const link = document.createElement("a");
    link.className = "button quiet";
    link.href = path;
    link.textContent = words;
    return link;
  };
  const press = (words, done) => {
    const button = document.createElement("button");
    button.className = "button quiet";
    button.type = "button";
    button.textContent = words;
    button.addEventListener("click", done);
    return button;
  };
  const asked = (body) => {
    const pairs = [...new URLSearchParams(body)].filter(([name]) => !["token", "number", "seen"].includes(name));
    return new URLSearchParams(pairs);
  };
  const count = (number) => number === 1 ? "1 reading" : `${number} readings`;
  function show() {
    if (!box) return;
    const rows = [];
    const all = waiting();
    const held = all.filter((one) => !one.refused);
    const number = held.reduce((sum, one) => sum + one.count, 0);
    if (number) {
      const wait = number === 1 ? "waits" : "wait";
      rows.push(line(`${count(number)} ${wait} on this phone. They are sent when the computer answers.`,
        press("Send now", () => send())));
    }
    for (const one of all.filter((one) => one.refused)) {
      rows.push(line(`${count(one.count)} of ${one.words} on this phone: the book refuses them.`,
        way(`${one.action}?${asked(one.body)}`, "Look at them"),
        press("Throw away", () => { drop(one.number); show(); })));
    }
    for (let at = 0; at < localStorage.length; at++) {
      const name = localStorage.key(at);
      const here = document.querySelector("form[data-draft]");
      if (!name.startsWith(DRAFT) || (here && draftOf(here) === name)) continue;
      const draft = stored(name);
      if (draft) rows.push(line(`${count(draft.values.length)} of ${draft.words}, typed and not written.`,
        way(draft.path, "Go on")));
    }
    box.replaceChildren(...rows);
    box.hidden = rows.length === 0;
  }

  // Sends the waiting forms one after another. The book writes a form number only once, however
  // often it arrives.
  let sending = false;
  async function send(here) {
    if (sending) return;
    sending = true;
    try {
      for (const one of waiting()) {
        if (one.refused && one.number !== here) continue;
        const answer = await post(one);
        if (answer === null) break;
        if (answer.done) {
          drop(one.number);
          store(DRAFT + one.draft, null);
          if (one.number === here) { location.assign(answer.url); return; }
        } else if (answer.refused) {
          store(WAITING, waiting().map((it) => it.number === one.number ? { ...it, refused: true } : it));
          if (one.number === here) { drop(one.number); return "refused"; }
        } else break;
      }
    } finally {
      sending = false;
      show();
    }
  }
  async function post(one) {
    const body = new URLSearchParams(one.body);
    // The program may have restarted since, with a new token.
    const token = document.querySelector("meta[name=form-token]");
    if (token) body.set("token", token.content);
    try {
      const answer = await fetch(one.action, { method: "POST", body, signal: AbortSignal.timeout(15000) });
      const said = new URL(answer.url).searchParams.get("said");
      return { done: answer.ok && answer.redirected && said === one.number, refused: answer.status === 422, url: answer.url };
    } catch { return null; }
  }

  for (const form of document.querySelectorAll("form[data-outbox]")) {
    form.addEventListener("submit", async (event) => {
      if (event.submitter && event.submitter.id !== "write") return;
      const body = new URLSearchParams(new FormData(form));
      const number = body.get("number");
      const one = { number, action: form.getAttribute("action"), body: body.toString(),
        words: form.dataset.outbox, draft: form.dataset.draft,
        count: [...body].filter(([name, value]) => /^(spine|fore-edge)-\d+$/.test(name) && value.trim()).length };
      if (!number || !store(WAITING, [...waiting().filter((it) => it.number !== number), one])) return;
      event.preventDefault();
      const button = form.querySelector("#write");
      button.setAttribute("aria-busy", "true");
      // Refused: submit normally, so that the page shows the reason at each field.
      if (await send(number) === "refused") form.submit();
      else button.removeAttribute("aria-busy");
    });
  }

  for (const link of document.querySelectorAll("a[data-drop]")) {
    link.addEventListener("click", () => store(DRAFT + link.dataset.drop, null));
  }

  addEventListener("online", () => send());
  setInterval(() => { if (waiting().some((one) => !one.refused)) send(); }, AGAIN);
  show();
  if (waiting().some((one) => !one.refused)) send();
})();
