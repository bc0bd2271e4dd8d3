// Passing a gate over what stands against it: each thing with a name, a role and a reason.
"use strict";
{
  const items = (form) => [...form.querySelectorAll("[data-keys]")];
  const field = (item, name) => item.querySelector(`[name="${name}"]`);
  const filled = (item) => ["who", "role", "why"].every((name) => field(item, name).value.trim());

  const count = (form) => {
    const all = items(form);
    for (const item of all) item.querySelector("[data-state]").textContent = filled(item) ? "has its reason" : "no reason yet";
    const done = all.filter(filled).length;
    form.querySelector("[data-count]").textContent = `${done} of ${all.length} with a reason`;
    form.querySelector("button.go").disabled = done < all.length;
  };

  document.addEventListener("input", (event) => {
    const form = event.target.closest("#let-pass");
    if (!form) return;
    const item = event.target.closest("[data-keys]");
    // Whoever is known comes with their role, where this thing offers it.
    const known = event.target.name === "who" && [...document.querySelectorAll("#people option")].find((one) => one.value === event.target.value);
    const role = known && [...field(item, "role").options].find((one) => one.value === known.dataset.role);
    if (role) role.selected = true;
    count(form);
  });

  // The same person mostly speaks for several things; why it may pass is said for each.
  document.addEventListener("toggle", (event) => {
    const item = event.target;
    if (!item.matches?.("#let-pass [data-keys]") || !item.open || field(item, "who").value) return;
    const last = items(item.closest("form")).filter((one) => field(one, "who").value).at(-1);
    if (!last) return;
    const role = [...field(item, "role").options].find((one) => one.value && one.value === field(last, "role").value);
    if (!role) return;
    field(item, "who").value = field(last, "who").value;
    role.selected = true;
  }, true);

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("#let-pass");
    if (!form) return;
    event.preventDefault();
    const button = form.querySelector("button.go");
    button.disabled = true;
    const reasons = items(form).map((item) => ({
      keys: JSON.parse(item.dataset.keys),
      who: field(item, "who").value,
      role: field(item, "role").value,
      why: field(item, "why").value,
    }));
    const sent = await Acts.add({ kind: "pass-gate", gate: form.dataset.gate, reasons });
    document.addEventListener("act-answered", function heard(answered) {
      const { act, answer } = answered.detail;
      if (act.id !== sent.id) return;
      answered.preventDefault(); // shown here
      document.removeEventListener("act-answered", heard);
      const says = form.querySelector("[data-says]");
      says.hidden = answer.answer !== "refused";
      says.textContent = answer.why || "";
      if (answer.answer === "refused") button.disabled = false;
      else form.reset();
    });
  });
}
