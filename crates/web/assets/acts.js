// Acts of a page: kept in the browser until the server has answered, sent in order.
// A page hands over an act; what happens to it is told by an event, "act-answered".
"use strict";

const Acts = (() => {
  let database = null;
  let sending = false;
  let again = 0;

  const opened = new Promise((resolve, reject) => {
    const request = indexedDB.open("faying", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("acts", { keyPath: "number", autoIncrement: true });
    request.onsuccess = () => { database = request.result; resolve(database); };
    request.onerror = () => reject(request.error);
  });

  const store = (mode) => database.transaction("acts", mode).objectStore("acts");
  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  // randomUUID is not there on plain http; getRandomValues is.
  const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");

  const now = () => {
    const at = new Date();
    const minutes = -at.getTimezoneOffset();
    const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
    const local = new Date(at.getTime() + minutes * 60000).toISOString().slice(0, 19);
    return `${local}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
  };

  const waiting = async () => { await opened; return done(store("readonly").getAll()); };

  const show = async () => {
    const box = document.getElementById("waiting");
    const count = (await waiting()).length;
    // A moment of waiting is nothing to show; a lost network is.
    box.hidden = count === 0 || again === 0;
    box.textContent = count === 1 ? "1 act is waiting for the server" : `${count} acts are waiting for the server`;
  };

  // A refusal that no page has shown yet is kept until somebody has read it.
  const unread = () => JSON.parse(localStorage.getItem("faying-refused") || "[]");
  const keepRefusal = (act, why) => {
    const what = (act.holes || [act.hole || act.step || ""]).join(", ");
    localStorage.setItem("faying-refused", JSON.stringify([...unread(), `${act.kind} ${what}: ${why}`].slice(-20)));
    showRefusals();
  };
  const showRefusals = () => {
    document.getElementById("refused")?.remove();
    if (!unread().length) return;
    const box = document.createElement("div");
    box.id = "refused";
    box.className = "caution";
    box.setAttribute("role", "alert");
    const list = document.createElement("ul");
    for (const text of unread()) list.append(Object.assign(document.createElement("li"), { textContent: text }));
    const seen = Object.assign(document.createElement("button"), { type: "button", textContent: "Seen" });
    seen.onclick = () => { localStorage.removeItem("faying-refused"); box.remove(); };
    box.append(Object.assign(document.createElement("b"), { textContent: "Not taken:" }), list, seen);
    document.getElementById("main").before(box);
  };

  const tell = (act, answer) => {
    const heard = !document.dispatchEvent(new CustomEvent("act-answered", { detail: { act, answer }, cancelable: true }));
    if (answer.answer === "refused" && !heard) keepRefusal(act, answer.why);
  };

  const send = async () => {
    if (sending) return;
    sending = true;
    try {
      for (;;) {
        const held = (await waiting()).slice(0, 50);
        if (held.length === 0) { again = 0; break; }
        const response = await fetch("/acts", {
          method: "POST",
          headers: { "Content-Type": "application/json" },
          body: JSON.stringify({ acts: held.map((entry) => entry.act) }),
        });
        if (!response.ok) throw new Error(await response.text());
        const told = await response.json();
        for (const entry of held) {
          const answer = told.answers.find((one) => one.id === entry.act.id);
          if (!answer) continue;
          await done(store("readwrite").delete(entry.number));
          tell(entry.act, answer);
        }
        if (told.failed) throw new Error(told.failed);
        again = 0;
      }
    } catch (error) {
      again = Math.min(again + 1, 6);
      setTimeout(send, 500 * 2 ** again);
    } finally {
      sending = false;
      show();
    }
  };

  const add = async (act) => {
    // The names on this page belong to its revision of the plan, whenever the act is sent.
    const { revision, build } = document.getElementById("main").dataset;
    const whole = { id: newId(), at: now(), revision: Number(revision), build, ...act };
    try {
      await opened;
      await done(store("readwrite").add({ act: whole }));
      send();
    } catch (error) {
      // A full or closed store: nothing may look done that is kept nowhere.
      const why = "this device could not keep it; write it on paper, and look at its free space";
      setTimeout(() => tell(whole, { id: whole.id, answer: "refused", why }));
    }
    return whole;
  };

  opened.then(send).then(show);
  showRefusals();
  window.addEventListener("online", send);
  return { add, waiting, newId, now, send };
})();

// A form or button that is one act: data-act holds it as JSON; fields join it by their names.
document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-act]");
  if (!form) return;
  event.preventDefault();
  const button = form.querySelector("button");
  if (button) button.disabled = true;
  const act = JSON.parse(form.dataset.act);
  for (const [name, value] of new FormData(form)) act[name] = value;
  // An act that begins something gives it its name.
  if (form.dataset.new) act[form.dataset.new] = Acts.newId();
  const sent = await Acts.add(act);
  document.addEventListener("act-answered", function heard(event) {
    const { detail } = event;
    if (detail.act.id !== sent.id) return;
    event.preventDefault(); // shown here
    document.removeEventListener("act-answered", heard);
    if (button) button.disabled = false;
    const says = form.querySelector("[data-says]");
    if (detail.answer.answer === "refused") {
      if (says) { says.hidden = false; says.textContent = detail.answer.why; } else alert(detail.answer.why);
      return;
    }
    if (form.dataset.then) { location.href = form.dataset.then.replace("ID", act.run || sent.id); return; }
    if (says) { says.hidden = !detail.answer.says; says.textContent = detail.answer.says || ""; }
    form.reset();
  });
});
