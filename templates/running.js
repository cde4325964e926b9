// What pages that run by a clock have in common: the clock, its words, room for type, a
// screen that stays awake, a time of day to start at. Instants are milliseconds.

"use strict";

const the = (id) => document.getElementById(id);

function wallClock() {
  let from = 0; // where it stood when it was last set
  let since = null; // when that was, or null while it stands
  return {
    at: () => (since === null ? from : from + performance.now() - since),
    isRunning: () => since !== null,
    go() {
      if (since === null) since = performance.now();
    },
    hold() {
      from = this.at();
      since = null;
    },
    jump(ms) {
      from = ms;
      if (since !== null) since = performance.now();
    },
  };
}

function clockText(seconds) {
  const rest = String(seconds % 60).padStart(2, "0");
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return `${minutes}:${rest}`;
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}:${rest}`;
}

// Time to come is rounded up: "3" stands from 3 s before until 2 s before.
const secondsTo = (ms) => Math.max(0, Math.ceil(ms / 1000 - 1e-6));
const untilText = (ms) => clockText(secondsTo(ms));

// Make type smaller until its words have room: fonts differ from place to place. Type of
// more than one line (`.line`, `.caption`) is held to its height too.
function fit(element) {
  if (element.offsetParent === null) return;
  let size = 1;
  element.style.setProperty("--fit", size);
  const isTooBig = () =>
    element.scrollWidth > element.clientWidth + 1 ||
    (element.matches(".line, .caption") && element.scrollHeight > element.clientHeight + 1);
  while (isTooBig() && size > 0.2) {
    size *= 0.97;
    element.style.setProperty("--fit", size);
  }
}

// The instant of the next such time of day ("18:30"), or null where it is none.
function nextTimeOfDay(text) {
  const [hours, minutes, seconds = 0] = text.split(":").map(Number);
  if (minutes === undefined) return null;
  const at = new Date();
  at.setHours(hours, minutes, seconds, 0);
  if (at.getTime() <= Date.now()) at.setDate(at.getDate() + 1);
  return at.getTime();
}

// Keeps the screen awake while it is wanted and the page is looked at.
function awakeKeeper() {
  let lock = null;
  let isWanted = false;
  async function ask() {
    if (!navigator.wakeLock || !isWanted || lock || document.visibilityState !== "visible") return;
    try {
      const got = await navigator.wakeLock.request("screen");
      if (!isWanted || lock) {
        got.release();
        return;
      }
      lock = got;
      lock.addEventListener("release", () => {
        if (lock === got) lock = null;
      });
    } catch {
      // Low battery, or not allowed: the machine's own settings decide.
    }
  }
  document.addEventListener("visibilitychange", ask);
  return (wanted) => {
    isWanted = wanted;
    if (!wanted && lock) {
      lock.release();
      lock = null;
    }
    ask();
  };
}

function toggleFull() {
  const root = document.documentElement;
  const done = document.fullscreenElement
    ? document.exitFullscreen()
    : root.requestFullscreen && root.requestFullscreen();
  if (done) done.catch(() => {}); // a browser may refuse; the page is as good without
}

function setDark(wanted) {
  document.documentElement.dataset.look = wanted ? "dark" : "light";
  the("dark-button").setAttribute("aria-pressed", String(wanted));
}
