// Lets a running clock on a page go on: what the server said, and the time since.
"use strict";
globalThis.Clock ??= (() => {
  const seen = new WeakMap();
  const words = (minutes) => {
    const whole = Math.ceil(minutes);
    const [days, hours, rest] = [Math.floor(whole / 1440), Math.floor((whole % 1440) / 60), whole % 60];
    if (days) return hours ? `${days} d ${hours} h` : `${days} d`;
    if (hours) return rest ? `${hours} h ${rest} min` : `${hours} h`;
    return `${rest} min`;
  };
  const show = () => {
    for (const one of document.querySelectorAll("[data-minutes]")) {
      // A part that was fetched anew begins anew.
      if (!seen.has(one)) seen.set(one, performance.now());
      const since = (performance.now() - seen.get(one)) / 60000;
      const text = words(Number(one.dataset.minutes) + since);
      if (one.textContent !== text) one.textContent = text;
    }
  };
  show();
  setInterval(show, 5000);
  return { words };
})();
