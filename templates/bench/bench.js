// Moves the focus to the next field, stores typed readings on this phone, and resends them until
// the book acknowledges them. Every page also works without this script.
(() => {
  "use strict";
  const WAITING = "swellbook-waiting", DRAFT = "swellbook-draft ";
  // How often to send again, and how long to wait for an answer, in milliseconds.
  const AGAIN = 4000, PATIENCE = 15000;

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
  const names = () => { try { return Object.keys(localStorage); } catch { return []; } };
  const waiting = () => stored(WAITING) || [];
  const drop = (number) => store(WAITING, waiting().filter((one) => one.number !== number));
  // Values may be changed and written while an entry is on its way: then it is not the same.
  const isStill = (one) => (it) => it.number === one.number && it.body === one.body;
  const note = (one, more) =>
    store(WAITING, waiting().map((it) => isStill(one)(it) ? { ...it, ...more } : it));
  // Whether an entry has exactly these typed values.
  const holds = (one, values) => {
    const sent = new URLSearchParams(one.body);
    return values.length === one.count && values.every(([name, value]) => sent.get(name) === value);
  };

  // Another book may have been open at this address before. `mark.rs` compares in the same way.
  const meta = (name) => {
    const found = document.querySelector(`meta[name=${name}]`);
    return found ? found.content : "";
  };
  const BOOK = meta("book-mark");
  const [FOLDER, FIRST] = BOOK.split(".");
  const TITLE = (document.getElementById("book") || document.body).textContent;
  const isOurs = (one) => {
    const [folder, first] = (one.book || "").split(".");
    return folder === FOLDER && (!first || !FIRST || first === FIRST);
  };
  const other = (one) => one.title ? `another book, “${one.title}”` : "another book";
  const viewOnly = "viewOnly" in document.body.dataset;

  // A gauge types its value and Enter. Some send a second Enter at once: it must not skip a place
  // or press a button.
  const fields = (form) => [...form.querySelectorAll(".edge-of input[type=text]")];
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
    const isAfter = (other) => field.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING;
    const next = fields(field.form).find(isAfter);
    const to = next || field.form.querySelector("#write");
    if (to) to.focus();
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
  const keyOf = (draft) => `${DRAFT}${FOLDER} ${draft}`;
  const draftOf = (form) => keyOf(form.dataset.draft);
  const today = () => {
    const now = new Date();
    return new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
  };
  // The address of the same block, state and places.
  const pathOf = (form) => {
    const hidden = [...form.querySelectorAll("input[type=hidden]")].filter((one) => one.value);
    return `${form.getAttribute("action")}?${asked(hidden.map((one) => [one.name, one.value]))}`;
  };
  const asked = (pairs) => new URLSearchParams([...pairs].filter(([name]) => !["token", "number", "book"].includes(name)));
  const typed = (form) => fields(form).map((field) => [field.name, field.value]).filter((pair) => pair[1]);
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const draft = stored(draftOf(form));
    const empty = typed(form).length === 0;
    if (draft && isOurs(draft) && empty) {
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
      const before = stored(draftOf(form));
      const isSame = before && JSON.stringify(before.values) === JSON.stringify(values);
      store(draftOf(form), values.length ? { values, path: pathOf(form), words: form.dataset.outbox,
        book: BOOK, title: TITLE, day: isSame ? before.day : today() } : null);
    });
    const undo = form.querySelector("button[name=undo]");
    if (undo) undo.addEventListener("click", (event) => {
      event.preventDefault();
      const last = fields(form).reverse().find((field) => field.value);
      if (!last) return;
      last.value = "";
      last.focus();
      form.dispatchEvent(new Event("input"));
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
  // The page with the readings of an entry, to change and write them. It replaces the entry.
  const look = (one) => {
    const pairs = asked(new URLSearchParams(one.body));
    pairs.set("instead", one.number);
    // It identifies a block in its own book only. In another one the name has to do.
    if (!isOurs(one)) pairs.delete("block");
    return `${one.action}?${pairs}`;
  };
  const throwAway = (one) => press("Throw away", () => { drop(one.number); store(one.draft, null); show(); });
  const valuesOf = (pairs) => ["spine", "fore-edge"].map((edge) => {
    const typed = [...pairs].filter(([name, value]) => value && /^-\d+$/.test(name.slice(edge.length)) && name.startsWith(edge));
    return typed.length ? `${edge} ${typed.map((pair) => pair[1]).join("; ")}` : "";
  }).filter(Boolean).join("; ");
  const count = (number) => number === 1 ? "1 reading" : `${number} readings`;
  function show() {
    if (!box) return;
    const rows = [];
    const all = waiting().filter(isOurs);
    const held = all.filter((one) => !one.refused);
    const number = held.reduce((sum, one) => sum + one.count, 0);
    if (number) {
      const wait = number === 1 ? "waits" : "wait";
      const why = [...new Set(held.map((one) => one.why).filter(Boolean))].join(" ");
      const then = viewOnly ? "This page only shows the book. They are sent when it can be changed again."
        : why ? `They are not written yet. The computer says: ${why}`
        : "They are sent when the computer answers.";
      rows.push(line(`${count(number)} ${wait} on this phone. ${then}`,
        ...viewOnly ? [] : [press("Send now", () => send())]));
    }
    for (const one of all.filter((one) => one.refused)) {
      const values = one.gone ? ` The readings are: ${valuesOf(new URLSearchParams(one.body))}.` : "";
      rows.push(line(`${count(one.count)} of ${one.words}, on this phone: the book refuses them. ${one.why || ""}${values}`,
        way(look(one), "Look at them"), throwAway(one)));
    }
    for (const one of waiting().filter((one) => !isOurs(one))) {
      const wait = one.count === 1 ? "waits" : "wait";
      rows.push(line(`${count(one.count)} of ${one.words}, ${wait} on this phone for ${other(one)}. They are sent when it is open here.`,
        way(look(one), "Look at them in this book"), throwAway(one)));
    }
    const here = document.querySelector("form[data-draft]");
    for (const name of names().filter((name) => name.startsWith(DRAFT))) {
      const draft = stored(name);
      if (!draft || (isOurs(draft) && here && draftOf(here) === name)) continue;
      if (waiting().some((one) => one.draft === name && holds(one, draft.values))) continue;
      const of = `${count(draft.values.length)} of ${draft.words}`;
      const away = press("Throw away", () => { store(name, null); show(); });
      // Its block may be gone.
      const values = location.pathname === "/measure" && !here ? `: ${valuesOf(draft.values)}` : "";
      rows.push(isOurs(draft)
        ? line(`${of}, typed and not written${values}.`, way(draft.path, "Go on"), away)
        : line(`${of}, typed for ${other(draft)} and not written.`, away));
    }
    box.replaceChildren(...rows);
    box.hidden = rows.length === 0;
  }

  // Sends the waiting forms one after another. The book writes a form number only once, however
  // often it arrives.
  let sending = false;
  async function send(here) {
    if (sending || viewOnly) return;
    sending = true;
    try {
      for (const one of waiting().filter(isOurs)) {
        if (one.refused && one.number !== here) continue;
        const answer = await post(one);
        if (answer === null) { note(one, { why: "" }); break; }
        if (answer.done) {
          store(WAITING, waiting().filter((it) => !isStill(one)(it)));
          drop(one.instead);
          if (waiting().some((it) => it.number === one.number)) continue;
          const draft = stored(one.draft);
          if (draft && holds(one, draft.values)) store(one.draft, null);
          if (one.number === here || isOpen(one)) { location.assign(answer.url); return; }
        } else if (answer.status === 422 && one.number === here) {
          drop(one.number);
          return "refused";
        } else {
          const gone = answer.status === 404;
          note(one, { refused: gone || answer.status === 422, gone, why: answer.why });
        }
      }
    } finally {
      sending = false;
      show();
    }
  }
  // Whether the page still shows the readings of an entry, typed and not changed.
  const isOpen = (one) => {
    const form = document.querySelector("form[data-draft]");
    return form !== null && draftOf(form) === one.draft && holds(one, typed(form));
  };
  async function post(one) {
    const body = new URLSearchParams(one.body);
    // The program may have restarted since, with a new token.
    body.set("token", meta("form-token"));
    const limit = new AbortController();
    const timer = setTimeout(() => limit.abort(), PATIENCE);
    try {
      const answer = await fetch(one.action, { method: "POST", body, signal: limit.signal });
      const said = new URL(answer.url).searchParams.get("said");
      const done = answer.ok && answer.redirected && said === one.number;
      const why = answer.ok ? "" : gist(await answer.text());
      return { done, status: answer.status, why, url: answer.url };
    } catch { return null; } finally { clearTimeout(timer); }
  }
  // The heading of an answer, and what it says is wrong.
  const gist = (html) => {
    const page = new DOMParser().parseFromString(html, "text/html");
    const parts = page.querySelectorAll("main h1, main > p:not(.quiet), main > ol > li, main .refused p, main .warned p, main .error");
    const said = [...parts].map((part) => part.textContent.trim()).filter(Boolean);
    return said.map((words) => /[.!?]$/.test(words) ? words : `${words}.`).join(" ");
  };

  for (const form of document.querySelectorAll("form[data-outbox]")) {
    form.addEventListener("submit", async (event) => {
      if (viewOnly || (event.submitter && event.submitter.id !== "write")) return;
      const body = new URLSearchParams(new FormData(form));
      const number = body.get("number");
      body.set("book", BOOK);
      if (!body.has("taken")) body.set("taken", (stored(draftOf(form)) || {}).day || today());
      const one = { number, action: form.getAttribute("action"), body: body.toString(),
        book: BOOK, title: TITLE, instead: body.get("instead"),
        words: form.dataset.outbox, draft: draftOf(form),
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
    link.addEventListener("click", () => {
      store(keyOf(link.dataset.drop), null);
      const instead = document.querySelector("form[data-outbox] [name=instead]");
      if (instead) drop(instead.value);
    });
  }

  // A way is kept as it is shown: only once the answer to the last change of its controls is there.
  // The address follows the controls, so that coming back shows the way as it was left.
  for (const form of document.querySelectorAll("form[data-follows]")) {
    const outcome = document.getElementById("outcome");
    const buttons = document.querySelectorAll("form[data-keeps] button");
    let changes = 0, sent = 0, later;
    const settle = (is) => { for (const button of buttons) button.disabled = !is; };
    settle(true);
    const lost = (why) => {
      if (sent !== changes) return;
      const words = `${why} This way can be kept once it is worked out. It is asked for again by itself.`;
      clearTimeout(later);
      later = setTimeout(() => form.dispatchEvent(new Event("input")), AGAIN);
      document.getElementById("ways-on").hidden = true;
      if (outcome.textContent === words) return;
      const notice = document.createElement("div");
      notice.className = "notice warned";
      notice.append(document.createElement("p"));
      notice.firstChild.textContent = words;
      outcome.replaceChildren(notice);
    };
    const on = (name, done) => document.addEventListener(`htmx:${name}`, (event) => {
      const { requestConfig } = event.detail;
      if (requestConfig && requestConfig.elt === form) done(event);
    });
    form.addEventListener("input", () => { changes += 1; clearTimeout(later); settle(false); });
    on("beforeSend", () => { sent = changes; });
    const away = () => lost("The computer does not answer.");
    on("sendError", away);
    on("timeout", away);
    // A refusal, or another page, such as one that asks to wait.
    on("beforeSwap", (event) => {
      if (event.detail.shouldSwap && event.detail.serverResponse.includes(" id=\"outcome\"")) return;
      event.detail.shouldSwap = false;
      lost(gist(event.detail.serverResponse));
    });
    on("afterSettle", (event) => {
      settle(sent === changes);
      history.replaceState(null, "", event.detail.pathInfo.finalRequestPath);
    });
  }

  const isToSend = () => waiting().some((one) => isOurs(one) && !one.refused);
  addEventListener("online", () => send());
  setInterval(() => { if (isToSend()) send(); }, AGAIN);
  show();
  if (isToSend()) send();
})();
