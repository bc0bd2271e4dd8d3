// Row entry and drawings: sends what is typed, shows what the server makes of it, keeps it until it is written.
// No figure is computed here.
"use strict";
{
  const about = document.getElementById("entry");
  const address = about.dataset.address;
  const main = document.getElementById("main");

  const ask = async (path, body, json = true) => {
    try {
      const response = await fetch(path, json
        ? { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) }
        : { method: "POST", body });
      if (!response.ok) return { ok: false, why: await response.text() };
      return await response.json();
    } catch {
      return { ok: false, why: "The server cannot be reached; what you typed is kept. Try again when the network is back." };
    }
  };

  // Where a form or a button says what became of it.
  const saysOf = (from) => from.querySelector("[data-says]") || from.parentElement.querySelector("[data-says]");
  const refuse = (from, why) => {
    const says = saysOf(from);
    if (says) { says.hidden = false; says.textContent = why; } else alert(why);
  };
  const settle = (from, text) => {
    const says = saysOf(from);
    if (says) { says.hidden = true; says.textContent = ""; }
    for (const old of document.querySelectorAll("[data-done]")) old.remove();
    if (!text) return;
    const done = document.createElement("p");
    done.className = "note";
    done.dataset.done = "";
    done.setAttribute("role", "status");
    done.textContent = text;
    const place = from.closest("form") || from.closest("[data-live]") || from;
    place.after(done);
  };

  // The lists anew; forms and what is typed in them stay.
  // After a row was written the next one starts from its rivet.
  const refresh = async (usual = false) => {
    const response = await fetch(location.href).catch(() => null);
    if (!response || !response.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    const now = fresh.getElementById("entry");
    for (const part of main.querySelectorAll("[data-live]")) {
      const anew = fresh.querySelector(`[data-live="${part.dataset.live}"]`);
      // Whoever is typing in a list is not interrupted.
      if (!anew || (part.contains(document.activeElement) && document.activeElement.matches("input, textarea"))) continue;
      const open = [...part.querySelectorAll("details[open][id]")].map((one) => one.id);
      const chosen = part.querySelector("select")?.value;
      const offered = part.querySelector("select")?.options.length;
      part.replaceChildren(...anew.childNodes);
      for (const id of open) document.getElementById(id)?.setAttribute("open", "");
      const select = part.querySelector("select");
      if (select && offered === select.options.length && [...select.options].some((it) => it.value === chosen)) select.value = chosen;
    }
    const name = main.querySelector('form[data-preview] [name="name"]');
    if (name && name.value === about.dataset.next) name.value = now.dataset.next;
    if (usual) {
      for (const field of ["rivet", "flush"]) {
        const select = main.querySelector(`form[data-preview] [name="${field}"]`);
        const anew = fresh.querySelector(`form[data-preview] [name="${field}"]`);
        if (!select || !anew) continue;
        const { value } = anew;
        select.replaceChildren(...anew.childNodes);
        select.value = value;
        showFlush(select.form);
      }
    }
    about.dataset.next = now.dataset.next;
    about.dataset.mark = now.dataset.mark;
    main.dataset.version = fresh.getElementById("main").dataset.version;
    document.querySelector("footer.block")?.replaceWith(fresh.querySelector("footer.block"));
  };

  // What is typed survives a reload.
  const kept = `typed:${location.pathname}`;
  const lines = () => [...main.querySelectorAll('form[data-kind^="add-"] [name="line"]')];
  const keep = () => {
    const typed = Object.fromEntries(lines().map((line) => [line.form.dataset.kind, line.value]));
    try { sessionStorage.setItem(kept, JSON.stringify(typed)); } catch { /* a full store loses nothing that is on the page */ }
  };
  try {
    const typed = JSON.parse(sessionStorage.getItem(kept)) || {};
    for (const line of lines()) if (typed[line.form.dataset.kind]) line.value = typed[line.form.dataset.kind];
  } catch { /* nothing was kept */ }

  // Fields of flush holes are there for flush rivets.
  const showFlush = (form, said = false) => {
    for (const label of form.querySelectorAll("label[data-flush]")) {
      const rivet = label.parentElement.querySelector('[name="rivet"]');
      label.hidden = !(said || rivet?.selectedOptions[0]?.hasAttribute("data-flush"));
    }
  };

  let asked = 0;
  let waiting = 0;
  const preview = (form) => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const box = document.getElementById("preview");
      const fields = Object.fromEntries(new FormData(form));
      const number = ++asked;
      if (!fields.line.trim()) { box.replaceChildren(); showFlush(form); return; }
      const told = await ask(`${address}/preview`, fields);
      // An answer to what was typed before is overtaken.
      if (number !== asked) return;
      const open = box.querySelector("details")?.open;
      if (told.html) box.innerHTML = told.html; else box.textContent = told.why || "";
      if (open) box.querySelector("details")?.setAttribute("open", "");
      showFlush(form, told.flush);
    }, 180);
  };

  const write = async (from, edit) => {
    const told = await ask(address, { mark: about.dataset.mark, edit });
    if (told.ok) settle(from, told.says);
    await refresh(told.ok && edit.kind === "add-row");
    if (!told.ok) refuse(from.isConnected ? from : main, told.why);
    return told.ok;
  };

  main.addEventListener("submit", async (event) => {
    const form = event.target.closest("form.entry");
    if (!form) return;
    event.preventDefault();
    const button = form.querySelector("button:not([type])");
    button.disabled = true;
    try {
      const fields = Object.fromEntries(new FormData(form));
      if (form.id === "drawing-form") return await writeDrawing(form);
      if ("create" in form.dataset) {
        const told = await ask("/entry", fields);
        if (told.ok) location.href = told.go; else refuse(form, told.why);
        return;
      }
      if (await write(form, { kind: form.dataset.kind, ...fields })) {
        const line = form.querySelector('[name="line"]');
        if (line) { line.value = ""; keep(); line.focus(); }
        if ("preview" in form.dataset) { asked += 1; clearTimeout(waiting); document.getElementById("preview").replaceChildren(); }
      }
    } finally {
      button.disabled = false;
    }
  });

  main.addEventListener("input", (event) => {
    const form = event.target.closest("form.entry");
    if (!form) return;
    keep();
    showFlush(form);
    if ("preview" in form.dataset) preview(form);
  });

  main.addEventListener("click", async (event) => {
    const edit = event.target.closest("[data-edit]");
    if (edit) {
      if (edit.dataset.ask && !confirm(edit.dataset.ask)) return;
      edit.disabled = true;
      await write(edit, JSON.parse(edit.dataset.edit));
      edit.disabled = false;
      return;
    }
    const copy = event.target.closest("[data-copy]");
    if (copy) {
      const form = main.querySelector("form[data-preview]");
      form.elements.line.value = copy.dataset.copy;
      const rivet = [...form.elements.rivet.options].find((it) => it.value === (copy.dataset.rivet || ""));
      if (rivet) form.elements.rivet.value = rivet.value;
      if (copy.dataset.flush !== undefined) form.elements.flush.value = copy.dataset.flush;
      form.elements.line.focus();
      form.scrollIntoView({ block: "start" });
      keep();
      preview(form);
      return;
    }
    const more = event.target.closest("[data-more-other]");
    if (more) {
      const others = [...main.querySelectorAll("[data-other]")];
      const another = others[others.length - 1].cloneNode(true);
      for (const input of another.querySelectorAll("input")) input.value = "";
      another.querySelector("[data-number]").textContent = others.length + 1;
      document.getElementById("others").append(another);
      another.querySelector("input").focus();
    }
  });

  // Drawings.
  const drawing = document.getElementById("drawing-form");
  const look = async () => {
    const file = drawing.elements.drawing.files[0];
    const shown = document.getElementById("shown");
    if (!file) { shown.replaceChildren(); return; }
    const typed = [...shown.querySelectorAll("input:not([data-look]), select:not([data-look])")].map((it) => [it.name, it.value]);
    const leave = [...shown.querySelectorAll('[name="leave"]:checked')].map((it) => it.value);
    const units = shown.querySelector('[name="units"]')?.value || "";
    const told = await ask(`${address}/look?${new URLSearchParams({ units, leave: JSON.stringify(leave) })}`, file, false);
    if (!told.ok) { refuse(drawing, told.why); return; }
    settle(drawing, "");
    shown.innerHTML = told.html;
    for (const it of shown.querySelectorAll("input:not([data-look]), select:not([data-look])")) {
      const at = typed.findIndex(([name]) => name === it.name);
      if (at >= 0) [[, it.value]] = typed.splice(at, 1);
    }
    showFields();
  };
  const showFields = () => { for (const group of drawing.querySelectorAll("fieldset[data-size]")) showFlush(group); };
  const writeDrawing = async (form) => {
    const value = (within, name) => within.querySelector(`[name="${name}"]`)?.value.trim() || "";
    const answers = {
      leave: [...form.querySelectorAll('[name="leave"]:checked')].map((it) => it.value),
      others: [...form.querySelectorAll("[data-other]")].map((it) => ({
        part: value(it, "other"), thickness: value(it, "other-thickness"), material: value(it, "other-material"), side: value(it, "other-side"),
      })),
      rivets: [...form.querySelectorAll("fieldset[data-size]")].map((it) => ({
        size: it.dataset.size, rivet: value(it, "rivet"), flush: value(it, "flush"),
      })),
      one_step: form.querySelector('[name="one_step"]')?.checked || false,
    };
    for (const name of ["units", "part", "thickness", "material", "plane", "near", "far", "head"]) answers[name] = value(form, name);
    const about_it = new URLSearchParams({ mark: about.dataset.mark, answers: JSON.stringify(answers) });
    const told = await ask(`${address}/write?${about_it}`, form.elements.drawing.files[0], false);
    if (told.ok) { location.href = told.go; return; }
    await refresh();
    refuse(form, told.why);
    saysOf(form).scrollIntoView({ block: "center" });
  };
  if (drawing) {
    drawing.addEventListener("change", (event) => {
      if (event.target.name === "drawing" || "look" in event.target.dataset) {
        // Another drawing is read with its own unit and layers.
        if (event.target.name === "drawing") for (const it of drawing.querySelectorAll("[data-look]")) { if (it.type === "checkbox") it.checked = false; else it.value = ""; }
        look();
      }
      showFields();
    });
  }

  for (const form of main.querySelectorAll("form[data-preview]")) { showFlush(form); if (form.elements.line.value) preview(form); }
  document.addEventListener("act-answered", () => refresh());
  const versions = new EventSource("/live");
  versions.onmessage = ({ data }) => { if (Number(data) > Number(main.dataset.version)) refresh(); };
  window.addEventListener("pagehide", () => versions.close());
}
