// The bench: one owner of the run's moving parts. It compares numbers with limits and holds no formula.
"use strict";
{
  const $ = (id) => document.getElementById(id);
  const run = JSON.parse($("run-data").textContent);
  const holes = new Map();
  for (const [number, setUp] of run.set_ups.entries()) for (const hole of setUp.holes) holes.set(hole.name, { ...hole, number });
  let version = run.version;
  let current = Math.max(0, run.set_ups.findIndex((setUp) => setUp.holes.some((hole) => !hole.set)));
  let shown = "";
  let picked = [];          // holes chosen by a finger on the map
  let lastSet = null;       // what "Not right" is most likely about
  let measuring = null;     // the hole whose head is being measured
  let scrapSkipped = new Set();
  let later = new Set();    // heads whose measuring was put off
  let asideHole = null;     // the hole that is not right
  let stopped = "";         // why the run stands still, until the next rivet
  let acts = [...run.acts]; // what can be taken back, newest last
  const mine = new Set();
  const unanswered = new Set(); // newer than anything the server says

  const setUp = () => run.set_ups[current];
  const all = () => setUp().holes.map((hole) => holes.get(hole.name));
  const empty = () => all().filter((hole) => !hole.set);
  const list = (some) => some.length < 4 ? some.map((hole) => hole.short).join(", ") : `${some[0].short}, ${some[1].short} … ${some.at(-1).short}`;
  const inches = (text) => {
    const plain = text.trim().replace(",", ".");
    return /^\d*\.?\d+$/.test(plain) ? Number(plain) : null;
  };
  const size = (value) => value.toFixed(3).replace(/^0/, "");

  // What to do next: along a stretch, as far as the next head that is to be measured.
  const next = () => {
    if (picked.length) return picked;
    const left = empty();
    if (!left.length) return [];
    const some = left.filter((hole) => hole.stretch === left[0].stretch);
    const stop = some.findIndex((hole) => hole.measure);
    return stop < 0 ? some : some.slice(0, stop + 1);
  };
  // Heads of this set-up that are to be measured and are not yet.
  const owed = () => setUp().coupon ? all().filter((hole) => hole.set && hole.measure && !hole.measured && !later.has(hole.name)) : [];

  const fact = (name, text) => text ? `<dt>${name}</dt><dd>${escape(text)}</dd>` : "";
  const escape = (text) => text.replace(/[&<>"]/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[c]);
  const limitWords = (limits) => {
    if (!limits) return "no limits known for this fastener";
    const wide = limits.max_width_in ? `${size(limits.min_width_in)} to ${size(limits.max_width_in)} in wide` : `at least ${size(limits.min_width_in)} in wide`;
    const high = limits.max_height_in ? `${size(limits.min_height_in)} to ${size(limits.max_height_in)} in high` : `at least ${size(limits.min_height_in)} in high`;
    return `${wide}, ${high}${setUp().from_lip ? " from the lip" : ""} (${limits.name}, as quoted)`;
  };

  // Numbers beside limits; the server says the rest with its answer.
  const compare = (width, height) => {
    const limits = setUp().limits;
    if (!limits || (width === null && height === null)) return "";
    const said = [];
    if (width !== null) {
      if (width < limits.min_width_in) said.push(`width under ${size(limits.min_width_in)}`);
      if (limits.max_width_in && width > limits.max_width_in) said.push(`width over ${size(limits.max_width_in)}`);
    }
    if (height !== null) {
      if (height < limits.min_height_in) said.push(`height under ${size(limits.min_height_in)}`);
      if (limits.max_height_in && height > limits.max_height_in) said.push(`height over ${size(limits.max_height_in)}`);
    }
    if (said.length) return `Outside the quoted limits: ${said.join(", ")}.`;
    if (width === null || height === null) return "";
    return "Inside the quoted limits checked.";
  };

  const draw = () => {
    const it = setUp();
    const left = run.set_ups.reduce((sum, one) => sum + one.holes.filter((hole) => !holes.get(hole.name).set).length, 0);
    const total = holes.size;
    $("where").textContent = `${run.sheet ? run.sheet + " · " : ""}set-up ${current + 1} of ${run.set_ups.length} · ${total - left} of ${total} set`;
    $("set-up").textContent = it.title;
    $("set-up-facts").innerHTML = fact("Tool", it.dies) + fact("Why", it.why) + fact("People", it.two_people ? "two: one on the gun, one on the bar. Look at the first heads from outside before going on" : "") +
      fact("Setting", it.proven ? "" : it.setting) + fact("Head on", it.head_on) + fact("Up", it.face_up) +
      fact("Aim", it.heights_in ? `${size((it.heights_in[0] + it.heights_in[1]) / 2)} in high; ${size(it.heights_in[0])} to ${size(it.heights_in[1])} work` : "") +
      fact("Heads", it.coupon ? limitWords(it.limits) : "") + fact("On scrap", it.proven || "");
    $("set-up-turn").hidden = run.set_ups.length === 1;
    $("previous").disabled = current === 0;
    $("next").disabled = current === run.set_ups.length - 1;
    for (const map of document.querySelectorAll(".maps")) map.hidden = Number(map.dataset.setUp) !== current;
    const now = next();
    const names = new Set(now.map((hole) => hole.name));
    for (const mark of document.querySelectorAll(".maps:not([hidden]) [data-hole]")) {
      const hole = holes.get(mark.dataset.hole);
      if (!hole || hole.number !== current) continue;
      mark.dataset.state = hole.set ? (hole.outside ? "fault" : hole.measured ? "set-measured" : "set") : names.has(hole.name) ? "now" : hole.opened ? "fault" : "to-do";
      const title = mark.querySelector("title");
      if (title) title.textContent = `${hole.short}: ${mark.dataset.state.replace("-", ", ")}`;
    }
    reachable();
    const aside = !$("not-right").hidden;
    const bag = Boolean(it.bag && !it.bag.checked) && empty().length > 0 && !aside && measuring === null;
    $("bag").hidden = !bag;
    if (bag) {
      $("bag-says").textContent = it.bag.fastener;
      $("bag-look").textContent = `Head: ${it.bag.mark || "its mark is not known here; compare with the bag's own label"}. ${it.bag.length_in ? `Three rivets: about ${size(it.bag.length_in)} in long${it.bag.over_head ? ", over the head" : " under the head"}.` : "Measure three."}`;
    }
    const scrap = it.coupon && !it.proven && !scrapSkipped.has(current) && empty().length > 0 && !bag && !aside && measuring === null;
    const comes = scrap && $("scrap").hidden;
    $("scrap").hidden = !scrap;
    // The caliper types into whatever has the focus.
    if (comes) {
      // As the card says; the yoke's spring is learned from it, so whoever did otherwise writes that.
      $("scrap-opened-of").hidden = it.opened_in === null;
      $("scrap-opened").value = it.opened_in === null ? "" : it.opened_in.toFixed(4).replace("0.", ".").replace(/0$/, "");
      $("scrap-width").focus({ preventScroll: true });
    }
    // Open while the squeezer is being set, out of the way while rivets are.
    if (shown !== `${current} ${scrap || bag}`) { $("facts").open = scrap || bag || !it.coupon; shown = `${current} ${scrap || bag}`; }
    $("measuring").hidden = measuring === null;
    $("work").hidden = scrap || bag || measuring !== null || aside || left === 0;
    $("more").hidden = run.ended || measuring !== null || aside || left === 0;
    $("put-off").disabled = now.length === 0 || scrap || bag;
    $("put-off").textContent = now.length ? `Put off ${list(now)}` : "Put off";
    $("finished").hidden = left !== 0 || run.ended || measuring !== null;
    $("set").disabled = now.length === 0;
    $("set").textContent = now.length === 0 ? "This set-up is done" : now.length === 1 ? `Set ${now[0].short}` : `Set these ${now.length}`;
    $("one").disabled = now.length < 2;
    $("now-holes").textContent = now.length ? list(now) : "";
    const then = now.at(-1)?.measure && it.coupon ? `then measure ${now.length > 1 ? now.at(-1).short : "it"}` : "";
    $("now-words").textContent = picked.length ? "as picked" : then || (now.length > 1 ? "in this order" : "");
    $("undo").disabled = acts.length === 0;
    $("undo").textContent = acts.length ? `Take back: ${acts.at(-1).says}` : "Take back";
    $("all").hidden = empty().length < 2 || now.length === empty().length;
    $("all").textContent = `Set all ${empty().length} of this set-up`;
    const mark = document.querySelector('.maps:not([hidden]) [data-state="now"]');
    if (mark) {
      const seen = mark.getBoundingClientRect();
      const bottom = document.querySelector(".dock").getBoundingClientRect().top - 30;
      if (seen.bottom > bottom) scrollBy(0, seen.bottom - bottom);
      else if (seen.top < 40) scrollBy(0, seen.top - 60);
    }
  };

  // The holes of the map by keyboard: one stop for Tab, arrows from hole to hole, Enter as a finger.
  const marks = () => [...document.querySelectorAll(".maps:not([hidden]) [data-hole]")].filter((mark) => holes.get(mark.dataset.hole)?.number === current);
  const reachable = () => {
    const all = marks();
    const stop = all.find((mark) => mark === document.activeElement) || all.find((mark) => mark.dataset.state === "now") || all[0];
    for (const mark of all) {
      mark.closest("svg")?.setAttribute("role", "group");
      mark.setAttribute("role", "button");
      mark.setAttribute("tabindex", mark === stop ? "0" : "-1");
      mark.setAttribute("aria-label", `${holes.get(mark.dataset.hole).short}, ${mark.dataset.state.replace("-", ", ")}`);
    }
  };
  $("run").addEventListener("keydown", (event) => {
    const mark = event.target.closest("[data-hole]");
    if (!mark) return;
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); mark.dispatchEvent(new MouseEvent("click", { bubbles: true })); }
    if (!step) return;
    event.preventDefault();
    const all = marks();
    const next = all[(all.indexOf(mark) + step + all.length) % all.length];
    for (const one of all) one.setAttribute("tabindex", one === next ? "0" : "-1");
    next.focus();
  });

  // Kept in view before it is sent: what can be taken back, and how it looked before.
  const act = (body, says, undo) => {
    const id = Acts.newId();
    mine.add(id);
    unanswered.add(id);
    if (says) acts.push({ id, says, undo });
    return Acts.add({ id, run: run.run, ...body });
  };

  const set = async (some) => {
    if (!some.length) return;
    // The first heads are those that are really set first, whichever were planned.
    const first = setUp().coupon ? run.measure_first - all().filter((hole) => hole.set).length : 0;
    for (const hole of some.slice(0, Math.max(0, first))) hole.measure = true;
    for (const hole of some) { hole.set = true; hole.measured = false; hole.outside = false; lastSet = hole; }
    picked = [];
    stopped = "";
    const says = some.length === 1 ? `${some[0].short} set` : `${list(some)} set`;
    act({ kind: "set", holes: some.map((hole) => hole.name), set_up: setUp().key }, says, () => { for (const hole of some) hole.set = false; });
    $("says").textContent = "";
    goOn();
  };

  // To the next head that is to be measured, else to the next set-up that has something left.
  const goOn = () => {
    const heads = owed();
    if (heads.length) { measure(heads[0]); return; }
    if (!empty().length) {
      const has = (one) => one.holes.some((hole) => !holes.get(hole.name).set);
      const after = run.set_ups.findIndex((one, number) => number > current && has(one));
      const any = run.set_ups.findIndex(has);
      if (after >= 0 || any >= 0) current = after >= 0 ? after : any;
    }
    draw();
  };

  const measure = (hole) => {
    measuring = hole;
    $("measuring-title").textContent = `Measure ${hole.short}`;
    $("measuring-limits").textContent = `Limits: ${limitWords(setUp().limits)}.`;
    for (const id of ["width", "height"]) $(id).value = "";
    $("verdict").textContent = "";
    draw();
    $("width").focus();
  };

  $("set").onclick = () => set(next());
  $("one").onclick = () => set(next().slice(0, 1));
  $("all").onclick = () => set(empty());
  $("previous").onclick = () => { current -= 1; picked = []; measuring = null; draw(); };
  $("next").onclick = () => { current += 1; picked = []; measuring = null; draw(); };
  $("measure").onclick = () => {
    const done = all().filter((hole) => hole.set && !hole.measured);
    const hole = done.at(-1) || all().filter((one) => one.set).at(-1);
    if (hole) measure(hole); else $("says").textContent = "Nothing is set with this set-up yet.";
  };
  $("keep").onclick = async () => {
    const [width, height] = [$("width").value, $("height").value];
    if (!width.trim() && !height.trim()) { $("verdict").textContent = "Type the width and the height, or take Not now."; $("width").focus(); return; }
    const hole = measuring;
    const outside = compare(inches(width), inches(height)).startsWith("Outside");
    hole.measured = true;
    hole.outside = outside;
    measuring = null;
    act({ kind: "measure", hole: hole.name, width, height, seat: setUp().from_lip ? "lip" : "", instrument: "caliper" },
      `${hole.short} measured`, () => { hole.measured = false; hole.outside = false; });
    if (outside) {
      // The first reject stops the run: the setting is proven anew before the next rivet.
      lastSet = hole;
      setUp().proven = null;
      scrapSkipped.delete(current);
      // Until the server has said which heads are measured next, the coming ones are.
      for (const one of empty().slice(0, run.measure_first)) one.measure = true;
      stopped = `${hole.short} is outside the quoted limits. Stop: ${lookBack(hole)}Look at the setting, and prove it on scrap again.`;
      $("says").textContent = stopped;
      notRight(hole);
    } else goOn();
  };
  // Set since the last head that was measured inside: any of them may be like the one that is not.
  const lookBack = (hole) => {
    const order = all();
    const since = [];
    for (let at = order.indexOf(hole) - 1; at >= 0 && !(order[at].measured && !order[at].outside); at -= 1) if (order[at].set) since.unshift(order[at]);
    return since.length ? `look at ${list(since)}, set since the last good head. ` : "";
  };
  $("later").onclick = () => { later.add(measuring.name); measuring = null; goOn(); };
  for (const [id, other, verdict] of [["width", "height", "verdict"], ["height", "width", "verdict"], ["scrap-width", "scrap-height", "scrap-verdict"], ["scrap-height", "scrap-width", "scrap-verdict"]]) {
    $(id).addEventListener("input", () => {
      const pair = id.endsWith("width") ? [id, other] : [other, id];
      $(verdict).textContent = compare(inches($(pair[0]).value), inches($(pair[1]).value));
    });
    // A caliper that types ends each reading with Enter.
    $(id).addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      if (!$(other).value.trim()) $(other).focus(); else $(id.startsWith("scrap") ? "scrap-done" : "keep").click();
    });
  }
  $("scrap-done").onclick = () => {
    const [width, height] = [$("scrap-width").value, $("scrap-height").value];
    if (!width.trim() && !height.trim()) { $("scrap-verdict").textContent = "Type the width and the height of the head on scrap."; $("scrap-width").focus(); return; }
    setUp().proven = `${width} in wide, ${height} in high`;
    act({ kind: "coupon", set_up: setUp().key, width, height, opened: $("scrap-opened").value.replace("−", "-"), seat: setUp().from_lip ? "lip" : "" }, "scrap measured");
    for (const id of ["scrap-width", "scrap-height"]) $(id).value = "";
    $("scrap-verdict").textContent = "";
    draw();
  };
  $("bag-right").onclick = () => {
    for (const one of run.set_ups) if (one.bag?.fastener === setUp().bag.fastener) one.bag.checked = "looked at";
    act({ kind: "bag", set_up: setUp().key, head_mark: true, lengths: $("bag-lengths").value.split(/[\s;]+/).filter(Boolean) }, "bag looked at");
    $("bag-lengths").value = "";
    draw();
  };
  $("bag-wrong").onclick = () => {
    act({ kind: "bag", set_up: setUp().key, head_mark: false, lengths: [] });
    $("says").textContent = "Put that bag away, and take the one on the label.";
  };
  $("put-off").onclick = () => change({ put_off: next().map((hole) => hole.name) });
  for (const button of document.querySelectorAll("[data-without]")) button.onclick = () => change({ without: [button.dataset.without] });
  for (const button of document.querySelectorAll("[data-with]")) button.onclick = () => change({ again: [button.dataset.with] });
  // What is left is put in order anew by the server; the page comes back with it.
  const change = async (body) => {
    if (!navigator.onLine) { $("says").textContent = "A new order needs the network; any hole can still be picked on the map."; return; }
    $("says").textContent = "Putting what is left in order …";
    await act({ kind: "change", ...body });
  };
  $("temperature-keep").onclick = () => {
    if (!$("temperature").value.trim()) { $("temperature").focus(); return; }
    act({ kind: "temperature", temperature: $("temperature").value });
    $("says").textContent = `Bench at ${$("temperature").value}.`;
    $("temperature").value = "";
  };
  $("scrap-skip").onclick = () => { scrapSkipped.add(current); draw(); };

  $("wrong").onclick = () => {
    const hole = picked[0] || (lastSet && lastSet.set ? lastSet : null) || all().filter((one) => one.set).at(-1) || next()[0];
    if (hole) notRight(hole);
  };
  const notRight = (hole) => {
    asideHole = hole;
    $("not-right-title").textContent = `${hole.short} is not right`;
    $("not-right").hidden = false;
    $("drilled").disabled = !hole.set;
    draw();
    $("why").focus();
  };
  $("this-wrong").onclick = () => { const hole = measuring; measuring = null; notRight(hole); };
  const leave = () => {
    $("not-right").hidden = true;
    $("why").value = "";
    picked = [];
    draw();
  };
  $("drilled").onclick = () => {
    const hole = holes.get(asideHole.name);
    hole.set = false; hole.measured = false; hole.opened = true;
    act({ kind: "open", hole: hole.name, why: $("why").value }, `${hole.short} drilled out`, () => { hole.set = true; hole.opened = false; });
    leave();
  };
  $("noted").onclick = () => {
    if (!$("why").value.trim()) { $("why").focus(); return; }
    act({ kind: "note", about: asideHole.name, text: $("why").value });
    leave();
  };
  $("leave").onclick = leave;
  $("undo").onclick = () => {
    const last = acts.pop();
    if (!last) return;
    last.undo?.();
    act({ kind: "undo", act: last.id });
    $("says").textContent = `Taken back: ${last.says}.`;
    draw();
  };
  $("end").onclick = async () => { await act({ kind: "end" }); };

  // A finger on the map: a hole; a second one in the same stretch: all between.
  $("run").addEventListener("click", (event) => {
    const mark = event.target.closest("[data-hole]");
    const hole = mark && holes.get(mark.dataset.hole);
    if (!hole || hole.number !== current) return;
    event.preventDefault();
    if (hole.set) { measure(hole); return; }
    const order = all();
    if (picked.length === 1 && picked[0] !== hole) {
      const row = (one) => one.name.slice(0, one.name.lastIndexOf("/"));
      const [a, b] = [picked[0], hole].map((one) => Number(one.short.split("-").at(-1)));
      const inside = (one) => { const n = Number(one.short.split("-").at(-1)); return n >= Math.min(a, b) && n <= Math.max(a, b); };
      picked = row(picked[0]) === row(hole) ? order.filter((one) => row(one) === row(hole) && inside(one) && !one.set) : [picked[0], hole];
    } else picked = picked.includes(hole) ? [] : [hole];
    draw();
  });

  // What the server says of an act; a refusal is shown and the page goes back to what is on the disk.
  document.addEventListener("act-answered", (event) => {
    const { act: done, answer } = event.detail;
    if (!mine.has(done.id)) return;
    unanswered.delete(done.id);
    event.preventDefault(); // shown here
    if (answer.answer === "refused") {
      acts = acts.filter((one) => one.id !== done.id);
      $("says").textContent = `Not taken: ${answer.why}.`;
      reload();
      if (done.kind === "bag") setTimeout(reload, 0);
    } else if (done.kind === "undo") reload();
    else if (done.kind === "change") location.reload();
    else if (done.kind === "end") location.href = "/";
    else if (answer.says) $("says").textContent = stopped ? `${stopped} ${answer.says}` : answer.says;
  });

  const reload = async () => {
    // What still waits here is newer than what the server knows.
    if (unanswered.size || (await Acts.waiting()).length) return;
    // Out of reach for a moment is nothing to cry about: the next version brings the next try.
    const response = await fetch(`/bench/${encodeURIComponent(run.run)}/data`).catch(() => null);
    if (!response?.ok) return;
    const fresh = await response.json();
    // A tap during the answer is newer than the answer; its own answer brings the next one.
    if ((await Acts.waiting()).length || unanswered.size || fresh.version < version) return;
    // A plan that was changed has other names and maps: the page is made anew.
    if (fresh.revision !== run.revision || fresh.changes !== run.changes) { location.reload(); return; }
    version = fresh.version;
    acts = [...fresh.acts];
    for (const [number, one] of fresh.set_ups.entries()) {
      run.set_ups[number].proven = one.proven;
      run.set_ups[number].bag = one.bag;
      for (const hole of one.holes) holes.set(hole.name, { ...hole, number });
    }
    if (measuring) measuring = holes.get(measuring.name);
    picked = picked.map((hole) => holes.get(hole.name)).filter((hole) => !hole.set);
    draw();
  };
  const versions = new EventSource("/live");
  versions.onmessage = ({ data }) => { if (Number(data) > version) { version = Number(data); reload(); } };
  window.addEventListener("pagehide", () => versions.close());

  draw();
}
