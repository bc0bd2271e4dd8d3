// The frame of every page: where one is among the pages, and what is put off from here.
"use strict";
{
  // On a phone the ways are wider than the screen.
  document.querySelector("nav.pages [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });

  // Whoever follows a link to one entry wants to do something about it.
  const unfold = () => {
    const there = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (!there) return;
    const folded = there.matches("details") ? there : there.querySelector("details");
    if (folded) folded.open = true;
    for (let around = there.parentElement; around; around = around.parentElement) if (around.matches("details")) around.open = true;
    there.scrollIntoView({ block: "start" });
  };
  window.addEventListener("hashchange", unfold);
  unfold();

  const dialog = document.getElementById("owe");
  const form = document.getElementById("owe-form");
  const says = form.querySelector(".says");
  const said = document.getElementById("owe-said");
  const complain = (why) => { says.hidden = !why; says.textContent = why; };
  const open = () => { complain(""); dialog.showModal(); };
  let sent = null;

  document.addEventListener("click", (event) => {
    if (event.target.closest("#owe-open, [data-put-off]")) open();
    else if (!event.target.closest("#owe-said")) said.hidden = true;
  });
  form.querySelector("[data-close]").onclick = () => dialog.close();

  // What was put off can be taken back at once; later from the record.
  const tell = (act) => {
    const text = document.createElement("span");
    text.textContent = `Put off: ${act.what}${act.place ? `, ${act.place}` : ""}${act.gate ? `, until gate ${act.gate}` : ""}.`;
    const back = Object.assign(document.createElement("button"), { type: "button", textContent: "Take back" });
    back.onclick = () => { Acts.add({ kind: "undo", act: act.id }); said.hidden = true; };
    said.replaceChildren(text, back);
    said.hidden = false;
    setTimeout(() => { if (said.contains(text)) said.hidden = true; }, 12000);
  };

  const putOff = async (what) => {
    if (!what.trim()) { complain("Write what is put off, or tap one of the four."); return; }
    const { place, gate, why } = Object.fromEntries(new FormData(form));
    dialog.close();
    // The element's own reset: what the page proposes stands there again.
    form.reset();
    sent = await Acts.add({ kind: "owe", what, place, gate, why });
    tell(sent);
  };
  for (const button of form.querySelectorAll("[data-what]")) button.onclick = () => putOff(button.dataset.what);
  form.addEventListener("submit", (event) => { event.preventDefault(); putOff(form.elements.what.value); });

  document.addEventListener("act-answered", (event) => {
    const { act, answer } = event.detail;
    if (!sent || act.id !== sent.id) return;
    sent = null;
    if (answer.answer !== "refused") return;
    // Shown here, with what was written still there.
    event.preventDefault();
    said.hidden = true;
    for (const name of ["place", "gate", "why", "what"]) form.elements[name].value = act[name];
    open();
    complain(answer.why);
  });
}
