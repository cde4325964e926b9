// The prompter page: which line is in hand, how long until it, how long it may last.
//
// Everything that is shown is worked out anew from the clock in each frame, so that nothing
// can drift. Modes: ready, waiting (for a set time), running, paused, done. A line is in hand
// from the end of the one before it until its own end; a skipped line never is. Words from
// people are set as text, never as mark-up.

"use strict";

(() => {
  const session = JSON.parse(the("session").textContent);
  const lines = session.lines;
  const root = document.documentElement;
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const broad = matchMedia("(min-width: 64rem) and (min-aspect-ratio: 1/1)");

  const COUNT_MS = 3000; // a firm call is counted in over this
  const STEP_MS = 1000; // of the arrow keys, to follow a session that began late
  const BREATH_MS = 600; // a rehearsal stays this long after a line
  const HANDS_OFF_MS = 6000; // a list that was moved by hand does not move by itself
  const CALM_STEP_MS = 500; // the boat's step where less motion is wished for

  const clock = wallClock();
  const keepAwake = awakeKeeper();
  const tones = countTones();
  const skipped = []; // indices, in the order in which they were skipped
  let mode = "ready";
  let shown = null; // the line that is shown as in hand
  let startAt = null; // the set time, ms since 1970
  let touchedAt = -HANDS_OFF_MS; // when the list was last moved by hand
  let isRehearsal = false;

  // ----------------------------------------------------------- what is due

  const isSaid = (index) => !skipped.includes(index);
  const lineFrom = (from) => lines.findIndex((_, index) => index >= from && isSaid(index));

  function inHand(at) {
    const index = lines.findIndex((line, i) => line.endMs > at && isSaid(i));
    return index < 0 ? null : index;
  }

  function afterLine(index) {
    const next = index === null ? -1 : lineFrom(index + 1);
    return next < 0 ? null : next;
  }

  const partAt = (at) => Math.max(0, session.parts.findLastIndex((one) => one.startMs <= at));
  const leadMs = () => 1000 * Number(the("lead").value);

  // A little before a line, but not while the one before it is said.
  function enterAt(index) {
    const before = lines.findLast((_, i) => i < index && isSaid(i));
    return Math.max(lines[index].atMs - leadMs(), before ? before.endMs : 0);
  }

  const callsAhead = () => lines.filter((line, i) => line.firm && isSaid(i)).map((line) => line.atMs);

  // ------------------------------------------------------------------ drawing

  function say(element, text) {
    if (element.textContent === text) return;
    const isAsLong = element.textContent.length === text.length;
    element.textContent = text;
    if (element.matches(".fit") && (!isAsLong || element.matches(".line"))) fit(element);
  }

  function draw() {
    const at = Math.min(clock.at(), session.durationMs);
    say(the("rowed"), rowedText(at));
    if (mode === "ready") return;
    if (mode === "waiting") drawWait();
    else drawLines(at);
  }

  function rowedText(at) {
    const ms = Math.min(at, session.rowEndMs) - session.leadInMs;
    return ms < 0 ? `-${untilText(-ms)}` : clockText(Math.floor(ms / 1000));
  }

  function drawLines(at) {
    const index = inHand(at);
    if (index !== shown) show(index, at);
    drawPart(at);
    if (index === null) return;
    const line = lines[index];
    const isNow = at >= line.atMs;
    say(the("until-word"), isNow ? "say it" : "in");
    say(the("until"), isNow ? "now" : aheadText(line.atMs - at));
    drawBlades(the("blades"), line, at);
    drawLane(line, at);
    const next = afterLine(index);
    if (next === null) return;
    say(the("after-until"), aheadText(lines[next].atMs - at));
    drawBlades(the("after-blades"), lines[next], at);
  }

  // Under a minute bare seconds, which are read at a glance.
  const aheadText = (ms) => (ms > 60_000 ? untilText(ms) : String(secondsTo(ms)));

  function drawPart(at) {
    const now = session.parts[partAt(at)];
    const isLast = now === session.parts[session.parts.length - 1];
    const isNew = the("where").textContent !== now.brief;
    say(the("where"), now.brief);
    if (isNew) fitAll(); // it may take a line more, or less
    say(the("left"), isLast ? "" : (now.about ? "~" : "") + untilText(now.endMs - at));
    say(the("left-word"), isLast ? "" : "to go");
  }

  // Three marks, one for each second of the count; they run out one after the other.
  function drawBlades(row, line, at) {
    const leftMs = line.atMs - at;
    const isCounted = line.firm && leftMs > 0 && leftMs <= COUNT_MS;
    row.classList.toggle("counting", isCounted);
    [...row.children].forEach((blade, i) => {
      const ms = Math.min(1000, Math.max(0, leftMs - 1000 * (2 - i)));
      const share = calm.matches ? Math.ceil(ms / 1000) : ms / 1000;
      const width = isCounted ? share : 0;
      blade.style.setProperty("--full", width.toFixed(2));
    });
  }

  // How much of its time a line has used: the boat comes to the end when the line has to.
  function drawLane(line, at) {
    const gone = Math.min(Math.max(0, at - line.atMs), line.endMs - line.atMs);
    const ms = calm.matches ? Math.floor(gone / CALM_STEP_MS) * CALM_STEP_MS : gone;
    const share = `${((100 * ms) / (line.endMs - line.atMs)).toFixed(1)}%`;
    the("lane").classList.toggle("under-way", at >= line.atMs);
    the("water").style.width = share;
    the("boat").style.left = share;
  }

  // Show what stays the same while a line is in hand, and tell it to a screen reader.
  function show(index, at) {
    shown = index;
    const line = lines[index];
    root.dataset.lines = index === null ? "none" : "";
    markList(index);
    placeNotches(line);
    if (index === null) {
      say(the("line"), "No more lines.");
      tell("No more lines.");
    } else {
      say(the("line"), line.text);
      say(the("firm"), line.firm ? "firm" : "");
      say(the("length"), `${line.firm ? "" : "floating, "}${((line.endMs - line.atMs) / 1000).toFixed(1)} s`);
      const seconds = secondsTo(line.atMs - at);
      if (mode !== "waiting") tell(`In ${seconds} seconds${line.firm ? ", firm" : ""}: ${line.text}`);
    }
    const next = afterLine(index);
    the("after-row").style.visibility = next === null ? "hidden" : "visible";
    say(the("after"), next === null ? "" : lines[next].text);
    fitAll();
  }

  const tell = (words) => say(the("told"), words);

  function placeNotches(line) {
    the("lane").querySelectorAll(".notch").forEach((notch) => notch.remove());
    for (const beat of line ? line.beats : []) {
      const notch = document.createElement("span");
      notch.className = "notch";
      notch.style.left = `${((100 * (beat - line.atMs)) / (line.endMs - line.atMs)).toFixed(1)}%`;
      the("lane").append(notch);
    }
  }

  function drawWait() {
    root.dataset.lines = "";
    const asRead = { hour: "2-digit", minute: "2-digit" };
    const first = lineFrom(0);
    say(the("where"), `Starts at ${new Date(startAt).toLocaleTimeString([], asRead)}`);
    say(the("left"), "");
    say(the("left-word"), "");
    say(the("until-word"), "starts in");
    say(the("until"), untilText(startAt - Date.now()));
    if (first >= 0 && shown !== first) show(first, 0);
  }

  function fitAll() {
    document.querySelectorAll(".fit").forEach(fit);
  }

  // ------------------------------------------------------------------ the list

  const itemOf = (index) => document.querySelector(`[data-item="${index}"]`);

  function markList(index) {
    document.querySelectorAll("[aria-current]").forEach((one) => one.removeAttribute("aria-current"));
    if (index === null) return;
    itemOf(index).querySelector(".go").setAttribute("aria-current", "step");
    scrollList();
  }

  // Bring the line in hand to the upper part of the list, unless a hand is moving it.
  function scrollList() {
    const side = the("side");
    if (side.hidden || shown == null || performance.now() - touchedAt < HANDS_OFF_MS) return;
    const list = the("list");
    const focus = document.activeElement;
    if (list.contains(focus) && focus.matches(":focus-visible")) return; // a key is walking there
    const box = list.scrollHeight > list.clientHeight + 1 ? list : side;
    const top = itemOf(shown).getBoundingClientRect().top - box.getBoundingClientRect().top;
    box.scrollTop += top - box.clientHeight / 4;
  }

  function drawSkips() {
    lines.forEach((line, index) => {
      const item = itemOf(index);
      item.classList.toggle("skipped", !isSaid(index));
      item.querySelector(".leave span").textContent = isSaid(index) ? "Skip" : "Take back";
    });
    the("back-button").disabled = skipped.length === 0;
    tones.clear();
    shown = undefined; // what is in hand, or comes after it, may be another line now
    draw();
  }

  function toggleSkip(index) {
    const place = skipped.indexOf(index);
    if (place < 0) skipped.push(index);
    else skipped.splice(place, 1);
    drawSkips();
  }

  function skipNext() {
    const index = inHand(clock.at());
    if (mode === "ready" || index === null) return;
    toggleSkip(index);
  }

  function takeBack() {
    if (skipped.pop() === undefined) return;
    drawSkips();
    if (the("back-button").disabled) the("main-button").focus();
  }

  // ------------------------------------------------------------------ modes

  function enter(next) {
    mode = next;
    root.dataset.mode = mode;
    the("front").hidden = mode !== "ready";
    the("stage").hidden = mode === "ready";
    const words = { waiting: "Start now", running: "Pause", paused: "Go on", done: "To the start" };
    the("main-button").textContent = words[mode] || "Start";
    the("side-button").hidden = mode === "ready";
    keepAwake(mode === "running" || mode === "waiting");
    if (mode !== "running") tones.clear();
    shown = undefined;
    draw();
    frame();
  }

  let isAsked = false;
  function frame() {
    if (isAsked) return;
    isAsked = true;
    requestAnimationFrame(() => {
      isAsked = false;
      goOn();
      draw();
      if (mode === "running" || mode === "waiting") frame();
    });
  }

  // What happens by itself: the set time, tones, a rehearsal's leaps, the end.
  function goOn() {
    if (mode === "waiting" && Date.now() >= startAt) begin(Date.now() - startAt);
    if (mode !== "running") return;
    if (isRehearsal) leap();
    if (clock.at() >= session.durationMs) finish();
    else tones.book(callsAhead(), clock.at());
  }

  // In a rehearsal nobody waits out the quiet.
  function leap() {
    const at = clock.at();
    const index = inHand(at);
    if (index === null) {
      const last = lines.findLast((_, i) => isSaid(i));
      if (!last || at > last.endMs + BREATH_MS) finish();
      return;
    }
    const before = lines.findLast((line, i) => line.endMs <= at && isSaid(i));
    const isBreath = before && at < before.endMs + BREATH_MS;
    if (!isBreath && at < enterAt(index) - 50) move(enterAt(index));
  }

  function finish() {
    clock.hold();
    clock.jump(session.durationMs);
    enter("done");
  }

  function begin(lateMs = 0) {
    startAt = null;
    if (lateMs > 100) clock.jump(Math.min(lateMs, session.durationMs)); // it was slept through
    clock.go();
    the("wishes").open = false; // the lines are what counts now
    openSide(broad.matches);
    enter("running");
    if (!the("side").contains(document.activeElement)) the("main-button").focus();
  }

  function press() {
    tones.open();
    if (mode === "ready" || mode === "waiting") begin();
    else if (mode === "running") {
      clock.hold();
      enter("paused");
    } else if (mode === "paused") {
      clock.go();
      enter("running");
    } else backToFront();
  }

  function backToFront() {
    clock.jump(0);
    the("wishes").open = true;
    openSide(true);
    enter("ready");
    the("start-button").focus();
  }

  function move(ms) {
    clock.jump(Math.min(Math.max(0, ms), session.durationMs - 1));
    tones.clear();
  }

  function jump(ms) {
    startAt = null;
    move(ms);
    if (mode === "ready") openSide(broad.matches);
    if (mode !== "running") enter("paused");
    draw();
  }

  const jumpToLine = (index) => jump(enterAt(index));

  function nextLine() {
    const at = clock.at();
    const index = inHand(at);
    if (index === null) return;
    const wanted = at < enterAt(index) - 50 ? index : afterLine(index);
    if (wanted !== null) jumpToLine(wanted);
  }

  function lineBefore() {
    const at = clock.at();
    const before = lines.findLastIndex((_, i) => isSaid(i) && enterAt(i) < at - 1000);
    if (before >= 0) jumpToLine(before);
  }

  function waitForTime() {
    const at = nextTimeOfDay(the("clock-time").value);
    if (at === null) {
      notice("Give a time of day first.");
      the("clock-time").focus();
      return;
    }
    notice("");
    tones.open();
    startAt = at;
    clock.jump(0);
    openSide(broad.matches);
    enter("waiting");
    the("main-button").focus();
  }

  function setRehearsal(wanted) {
    isRehearsal = wanted;
    the("rehearse").checked = wanted;
    root.dataset.rehearsal = wanted ? "on" : "";
    fitAll(); // its button and its word take room
  }

  const notice = (text) => say(the("notice"), text);

  // ---------------------------------------------------------------- the side

  function openSide(wanted) {
    the("side").hidden = !wanted;
    root.dataset.side = wanted ? "shown" : "";
    the("side-button").setAttribute("aria-expanded", String(wanted));
    fitAll();
    scrollList();
  }

  function toggleSide() {
    if (mode === "ready") return;
    openSide(the("side").hidden);
    if (!the("side").hidden && !broad.matches) the("side").focus();
    else the("side-button").focus();
  }

  let lastSide = "left";
  function toggleTones() {
    const isOn = tones.wish.side !== "off";
    the("tone-side").value = isOn ? "off" : lastSide;
    tonesChanged();
  }

  function tonesChanged() {
    const side = the("tone-side").value;
    if (side !== "off") lastSide = side;
    tones.set({ side, step: Number(the("tone-step").value) });
  }

  // -------------------------------------------------------------------- keys

  const remoteOn = () => (mode === "ready" ? press() : isRehearsal ? nextLine() : skipNext());
  const remoteBack = () => (isRehearsal ? lineBefore() : takeBack());

  const KEYS = {
    " ": press,
    Enter: press,
    MediaPlayPause: press,
    ".": press, // what remotes send to blank a screen
    F5: press, // and to begin a show; it would load the page again and lose the place
    PageDown: remoteOn,
    PageUp: remoteBack,
    ArrowDown: nextLine,
    ArrowUp: lineBefore,
    ArrowLeft: (event) => jump(clock.at() - (event.shiftKey ? 10 : 1) * STEP_MS),
    ArrowRight: (event) => jump(clock.at() + (event.shiftKey ? 10 : 1) * STEP_MS),
  };

  const LETTERS = {
    s: skipNext,
    b: takeBack,
    n: nextLine,
    r: () => setRehearsal(!isRehearsal),
    t: toggleTones,
    l: toggleSide,
    f: toggleFull,
    d: () => setDark(root.dataset.look !== "dark"),
  };

  // What a key does now, or nothing where it belongs to what has the focus.
  function meaning(event) {
    const { target, key } = event;
    if (event.ctrlKey || event.altKey || event.metaKey) return undefined;
    if (target.matches("input[type=time], select")) return undefined;
    if (target.matches("button, a, input, summary") && (key === " " || key === "Enter")) return undefined;
    if (key === "Escape" && !the("side").hidden && !broad.matches) return toggleSide;
    if (mode === "ready" && key.startsWith("Arrow")) return undefined; // they scroll
    const isLetter = key.length === 1 && key !== " ";
    if (isLetter && !the("letters").checked) return undefined;
    return KEYS[key] || LETTERS[key.toLowerCase()];
  }

  function listen() {
    document.addEventListener("keydown", (event) => {
      const act = meaning(event);
      if (!act) return;
      event.preventDefault();
      if (!event.repeat || event.key.startsWith("Arrow")) act(event);
    });
    the("clock-time").addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault(); // or it would press the button that has the focus next
      waitForTime();
    });
    const presses = {
      "start-button": press,
      "main-button": press,
      "skip-button": skipNext,
      "back-button": takeBack,
      "next-button": nextLine,
      "clock-button": waitForTime,
      "side-button": toggleSide,
      "full-button": toggleFull,
      "dark-button": LETTERS.d,
      "tone-button": () => tones.sample(),
    };
    for (const [id, act] of Object.entries(presses)) the(id).addEventListener("click", act);
    the("tone-side").addEventListener("change", tonesChanged);
    the("tone-step").addEventListener("change", tonesChanged);
    the("rehearse").addEventListener("change", () => setRehearsal(the("rehearse").checked));
    the("list").addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button) return;
      if (button.dataset.skip) toggleSkip(Number(button.dataset.skip));
      else jumpToLine(Number(button.dataset.line));
    });
    for (const kind of ["wheel", "touchmove", "pointerdown"]) {
      const note = () => (touchedAt = performance.now());
      the("side").addEventListener(kind, note, { passive: true });
    }
    addEventListener("resize", fitAll);
    document.addEventListener("fullscreenchange", () => {
      the("full-button").textContent = document.fullscreenElement ? "Leave full screen" : "Full screen";
    });
  }

  listen();
  setInterval(goOn, 250); // a page in the background has no frames
  the("full-button").hidden = !document.fullscreenEnabled;
  if (!navigator.wakeLock) {
    the("awake").textContent = "This browser cannot keep the screen awake: see to it yourself.";
  }
  setDark(matchMedia("(prefers-color-scheme: dark)").matches);
  setRehearsal(false);
  openSide(true);
  enter("ready");
})();
