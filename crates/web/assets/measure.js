// Measuring: Enter goes to the next empty field, as a caliper with a cable types it;
// on the Measure page the server is asked again whenever a figure changes.
"use strict";
{
  const fieldsOf = (form) => [...form.querySelectorAll("input:not([type=hidden])")];

  document.addEventListener("keydown", (event) => {
    const form = event.target.closest("form[data-caliper]");
    if (event.key !== "Enter" || !form || !event.target.matches("input")) return;
    event.preventDefault();
    const fields = fieldsOf(form);
    const here = fields.indexOf(event.target);
    // Only what a caliper measures is gone through; the rest is for fingers.
    const next = fields.find((field, index) => index > here && field.inputMode === "decimal" && field.value === "");
    if (next) { next.focus(); return; }
    // The page refreshes itself only while nobody is in a field.
    if (form.dataset.caliper === "send") { form.querySelector("button").focus(); form.requestSubmit(); return; }
    ask(0).then(() => document.querySelector("#record button")?.focus());
  });

  const form = document.querySelector("form[data-caliper=ask]");
  let asked = 0;
  let later = 0;

  const ask = (wait) => new Promise((resolve) => {
    clearTimeout(later);
    later = setTimeout(async () => {
      const number = ++asked;
      const typed = new URLSearchParams(new FormData(form));
      const page = new URL(form.action).pathname;
      history.replaceState(null, "", `${page}?${typed}`);
      const says = document.getElementById("says");
      try {
        const response = await fetch(`${page}?${typed}&part=says`);
        if (!response.ok) throw new Error(await response.text());
        const text = await response.text();
        // An answer that was overtaken by a later question is dropped.
        if (number === asked) says.innerHTML = text;
      } catch {
        if (number === asked) says.textContent = "The server does not answer; what was typed stays here.";
      }
      resolve();
    }, wait);
  });

  // What stands there belongs to what was typed before: nobody records that by a quick tap.
  const stale = () => {
    const button = document.querySelector("#record button");
    if (button) button.disabled = true;
  };

  if (form) {
    form.addEventListener("input", () => { stale(); ask(150); });
    form.addEventListener("submit", (event) => { event.preventDefault(); ask(0); });
    document.addEventListener("act-answered", ({ detail }) => {
      if (!["measure", "examine"].includes(detail.act.kind) || detail.answer.answer === "refused") return;
      const button = document.querySelector("#record button");
      if (button) { button.textContent = "Recorded"; button.disabled = true; }
    });
  }
}
