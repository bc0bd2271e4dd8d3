// Photographs of a page: the bytes that the camera wrote are kept in the browser until the server has
// them and the act that names them is answered. What happens to them is shown in a box of its own.
"use strict";
globalThis.Photos ??= (() => {
  let database = null;
  let sending = false;
  let again = 0;
  let why = "";          // what the server said when it could not take one
  let kept = "";         // the good news, for a moment
  let loose = [];        // what this device could not store: as long as the page is open
  const handed = new Set(); // uploaded, its act not answered yet

  const opened = new Promise((resolve) => {
    const request = indexedDB.open("faying-photographs", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("photographs", { keyPath: "number", autoIncrement: true });
    request.onsuccess = () => { database = request.result; resolve(); };
    request.onerror = () => resolve(); // without a store they are held by the page
  });
  const done = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const store = (mode) => database.transaction("photographs", mode).objectStore("photographs");
  const build = () => document.getElementById("main").dataset.build;

  const waiting = async () => {
    await opened;
    return [...(database ? await done(store("readonly").getAll()) : []), ...loose];
  };
  const keep = async (entry) => {
    await opened;
    try {
      await done(store("readwrite").add(entry));
    } catch {
      loose.push(entry);
    }
  };
  const change = (entry) => (entry.number === undefined ? undefined : done(store("readwrite").put(entry)));
  const forget = async (entry) => {
    loose = loose.filter((one) => one !== entry);
    if (entry.number !== undefined) await done(store("readwrite").delete(entry.number));
  };

  const box = document.createElement("div");
  box.id = "photographs-waiting";
  box.setAttribute("role", "status");
  box.hidden = true;
  document.body.append(box);

  const count = (number, one, many) => (number === 1 ? `1 photograph ${one}` : `${number} photographs ${many}`);
  const line = (text) => Object.assign(document.createElement("p"), { textContent: text });
  const show = async () => {
    const all = await waiting();
    const lines = [];
    const here = all.filter((entry) => !entry.refused && entry.act.build === build());
    const elsewhere = all.filter((entry) => !entry.refused && entry.act.build !== build());
    if (here.length && again) lines.push(line(`${count(here.length, "is", "are")} waiting for the server. ${why}`.trim()));
    else if (here.length) lines.push(line(`Sending ${count(here.length, "", "").trim()}.`));
    if (loose.length) lines.push(line("This device has no room for it: leave this page open until it is sent."));
    if (elsewhere.length) lines.push(line(`${count(elsewhere.length, "waits", "wait")} for another build.`));
    if (!lines.length && kept) lines.push(line(kept));
    for (const entry of all.filter((one) => one.refused)) {
      lines.push(line(`Not taken: ${entry.refused}`));
      const turn = document.createElement("p");
      const address = URL.createObjectURL(new Blob([entry.bytes], { type: entry.type }));
      const save = Object.assign(document.createElement("a"), { href: address, download: entry.name, textContent: "Save the picture", className: "tap" });
      const drop = Object.assign(document.createElement("button"), { type: "button", textContent: "Seen, remove it here" });
      drop.onclick = async () => { await forget(entry); URL.revokeObjectURL(address); show(); };
      turn.append(save, drop);
      lines.push(turn);
    }
    box.replaceChildren(...lines);
    box.hidden = lines.length === 0;
  };

  const refuse = async (entry, text) => {
    entry.refused = text;
    await change(entry);
  };

  const send = async () => {
    if (sending) return;
    sending = true;
    try {
      for (const entry of await waiting()) {
        if (entry.refused || handed.has(entry.act.id) || entry.act.build !== build()) continue;
        show();
        const response = await fetch(`/photos?build=${encodeURIComponent(entry.act.build)}`, {
          method: "POST",
          headers: { "Content-Type": entry.type || "application/octet-stream" },
          body: entry.bytes,
        });
        if (response.status === 413 || response.status === 415) {
          await refuse(entry, await response.text());
          continue;
        }
        if (!response.ok) { why = await response.text(); throw new Error(why); }
        const { file } = await response.json();
        why = "";
        // It stays here until the act is answered: sent twice it is the same file and the same act.
        handed.add(entry.act.id);
        await Acts.add({ ...entry.act, file });
      }
      again = 0;
    } catch {
      again = Math.min(again + 1, 6);
      setTimeout(send, 500 * 2 ** again);
    } finally {
      sending = false;
      show();
    }
  };

  document.addEventListener("act-answered", async (event) => {
    const { act, answer } = event.detail;
    if (act.kind !== "photograph") return;
    event.preventDefault(); // shown here
    handed.delete(act.id);
    for (const entry of (await waiting()).filter((one) => one.act.id === act.id)) {
      if (answer.answer === "refused") await refuse(entry, answer.why);
      else await forget(entry);
    }
    if (answer.answer !== "refused") {
      kept = "Photograph kept.";
      setTimeout(() => { kept = ""; show(); }, 4000);
    }
    show();
  });

  const take = async (form, input) => {
    const says = form.querySelector("[data-says]");
    const words = form.elements.words;
    const { revision } = document.getElementById("main").dataset;
    const said = [];
    for (const file of [...input.files]) {
      const megabytes = (bytes) => `${Math.round(bytes / 1024 / 1024)} MB`;
      if (file.size > Number(form.dataset.most)) {
        said.push(`${file.name} has ${megabytes(file.size)}; the most that is kept of one photograph is ${megabytes(form.dataset.most)}. Take it in a smaller size.`);
        continue;
      }
      let bytes = null;
      try {
        bytes = await file.arrayBuffer();
      } catch {
        said.push(`${file.name} cannot be read; take it again.`);
        continue;
      }
      await keep({
        bytes,
        type: file.type,
        name: file.name,
        act: {
          kind: "photograph", id: Acts.newId(), at: Acts.now(), revision: Number(revision), build: build(),
          about: JSON.parse(form.dataset.about), words: words.value,
        },
      });
    }
    says.hidden = said.length === 0;
    says.textContent = said.join(" ");
    if (!said.length) words.value = "";
    input.value = ""; // the same picture may be chosen again
    // The page follows what was done only when nobody is in one of its fields.
    if (form.contains(document.activeElement)) document.activeElement.blur();
    show();
    send();
  };

  // Heard at the field itself: while the camera is open the page may be fetched anew, and the field be off it.
  document.addEventListener("click", (event) => {
    const input = event.target.closest?.("form.photo input[type=file]");
    if (input) input.onchange = () => take(input.form, input);
  });
  document.addEventListener("change", (event) => {
    const input = event.target.closest?.("form.photo input[type=file]");
    if (input && !input.onchange) take(input.form, input);
  });
  document.addEventListener("submit", (event) => { if (event.target.closest("form.photo")) event.preventDefault(); });

  // An original that is gone, or that the browser cannot draw, is told in words.
  const unseen = (image) => {
    const text = document.createElement("span");
    text.className = "unseen";
    text.textContent = "This picture cannot be shown: the file is missing from photos/, or damaged. `faying verify` says which.";
    image.replaceWith(text);
  };
  document.addEventListener("error", (event) => { if (event.target.matches?.(".photos img")) unseen(event.target); }, true);
  for (const image of document.querySelectorAll(".photos img")) if (image.complete && !image.naturalWidth && image.currentSrc) unseen(image);

  window.addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  window.addEventListener("beforeunload", (event) => { if (loose.length) event.preventDefault(); });
  send();
  return { waiting, send };
})();
