// The hall page: shows what is due, by one clock.
//
// The clock is the track's own (audio.currentTime), which is what is heard; where there
// is no track, or it cannot be played, it is the wall clock. Everything that is shown is
// worked out anew from its instant in each frame, so that nothing can drift.
//
// Instants are milliseconds of the track. Modes: ready, waiting (for a set time),
// starting (the browser has been asked to play), running, paused, done. Words from people
// are set as text, never as mark-up.

"use strict";

(() => {
  const session = JSON.parse(the("session").textContent);
  const root = document.documentElement;
  const track = the("track");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const keepAwake = awakeKeeper();

  const STEP_MS = 10_000; // of the arrow keys
  const AGAIN_MS = 3_000; // so soon after its start, "chapter before" means the one before
  const ONE_PRESS_MS = 300; // a media key may come as a key and as a command of the system

  let mode = "ready";
  let clock = null;
  let part = -1; // the one that is shown
  let startAt = null; // the set time, ms since 1970

  // ---------------------------------------------------------------- clocks

  // Both clocks: at(), isRunning(), go(), hold(), jump(ms); they call `changed` when they start
  // or stop. The wall clock is everybody's (running.js) and only tells of it here.

  function toldClock(changed) {
    const wall = wallClock();
    return {
      ...wall,
      async go() {
        wall.go();
        changed();
      },
      hold() {
        wall.hold();
        changed();
      },
    };
  }

  function trackClock(audio, changed) {
    for (const event of ["play", "pause", "ended"]) audio.addEventListener(event, changed);
    audio.addEventListener("seeking", () => draw()); // a system's own controls move it too
    return {
      at: () => audio.currentTime * 1000,
      isRunning: () => !audio.paused && !audio.ended,
      go: () => audio.play(),
      hold: () => audio.pause(),
      jump(ms) {
        audio.currentTime = ms / 1000;
      },
    };
  }

  // ----------------------------------------------------------------- words

  function rowedText(at) {
    const ms = Math.min(at, session.rowEndMs) - session.leadInMs;
    return ms < 0 ? `-${untilText(-ms)}` : clockText(Math.floor(ms / 1000));
  }

  function say(element, text) {
    if (element.textContent === text) return;
    const isAsLong = element.textContent.length === text.length;
    element.textContent = text;
    const fitted = element.closest(".fit, .caption");
    if (fitted && (!isAsLong || element.id === "caption")) fit(fitted);
  }

  function fitAll() {
    document.querySelectorAll(".fit, .caption").forEach(fit);
    placeMarks();
  }

  // ----------------------------------------------------------- what is due

  const partAt = (at) => Math.max(0, session.parts.findLastIndex((one) => one.startMs <= at));

  function lineAt(at) {
    const line = session.lines.findLast(([start]) => start <= at);
    return line && at < line[1] ? line[2] : "";
  }

  function draw() {
    const at = Math.min(clock.at(), session.durationMs);
    say(the("rowed"), rowedText(at));
    placeBoat(at);
    if (mode === "waiting") drawWait();
    else if (mode === "done") drawDone();
    else if (mode !== "ready") drawPart(at);
  }

  function drawPart(at) {
    const index = partAt(at);
    const now = session.parts[index];
    const leftMs = now.endMs - at;
    if (index !== part) show(index);
    const isCounted = now.figure === "";
    const left = untilText(leftMs);
    const isBeat = isCounted && leftMs <= now.countMs;
    say(the("figure"), isCounted ? (isBeat ? String(Math.ceil(leftMs / 1000)) : left) : now.figure);
    const toGo = (now.about ? "~" : "") + left;
    say(the("left"), toGo);
    // "in", not "at": an instant of the session would read like a time of day.
    say(the("next-clock"), `in ${toGo}`);
    say(the("caption"), lineAt(at));
    the("caption").classList.toggle("spoken", the("caption").textContent !== "");
  }

  // Show what stays the same all through a part, and tell it to a screen reader.
  function show(index) {
    part = index;
    const now = session.parts[index];
    const next = session.parts[index + 1];
    const isLast = next === undefined;
    say(the("word"), now.word);
    say(the("name"), now.name);
    say(the("hold"), now.hold);
    say(the("unit"), now.unit);
    say(the("effort"), now.effort);
    the("hold-line").hidden = now.hold === "";
    the("left-line").hidden = now.figure === "" || isLast;
    say(the("next-word"), "next");
    say(the("next"), isLast ? "" : next.brief);
    the("next-line").style.visibility = isLast ? "hidden" : "visible";
    say(the("told"), now.told + (isLast ? "" : ` Next: ${next.brief}.`));
    document.querySelectorAll("[data-part]").forEach((button, i) => {
      if (i === index) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    });
    fitAll();
  }

  function drawWait() {
    if (part !== "wait") {
      part = "wait";
      const first = session.parts[0];
      const asRead = { hour: "2-digit", minute: "2-digit" };
      plain("starts in", `Starts at ${new Date(startAt).toLocaleTimeString([], asRead)}`);
      say(the("next-word"), "first");
      say(the("next"), first.brief);
      say(the("next-clock"), "");
      fitAll();
    }
    say(the("figure"), untilText(startAt - Date.now()));
  }

  function drawDone() {
    if (part === "done") return;
    const last = session.parts[session.parts.length - 1];
    show(session.parts.length - 1);
    part = "done";
    plain(last.word, last.name);
    say(the("figure"), last.figure);
  }

  // Leave nothing but a figure and a name on the stage.
  function plain(word, name) {
    say(the("word"), word);
    say(the("name"), name);
    say(the("caption"), "");
    the("caption").classList.remove("spoken");
    the("hold-line").hidden = true;
    the("left-line").hidden = true;
  }

  // ------------------------------------------------------------- the river

  function placeBoat(at) {
    const shown = calm.matches ? Math.floor(at / 1000) * 1000 : at;
    const down = ((1000 * shown) / session.durationMs).toFixed(2);
    if (the("done-part").getAttribute("height") === down) return;
    the("done-part").setAttribute("height", down);
    the("boat").setAttribute("transform", `translate(0 ${down})`);
  }

  // Write each rate beside its reach, where there is room for it.
  function placeMarks() {
    const marks = [...document.querySelectorAll(".marks li")];
    const height = the("boat").ownerSVGElement.clientHeight;
    const rowed = session.parts.filter((one) => one.startMs > 0 || session.leadInMs === 0);
    let below = 0;
    marks.forEach((mark, i) => {
      const middle = (rowed[i].startMs + rowed[i].endMs) / 2 / session.durationMs;
      const half = mark.scrollHeight / 2;
      mark.style.top = `${100 * middle}%`;
      mark.style.visibility = middle * height - half < below ? "hidden" : "visible";
      if (mark.style.visibility === "visible" && mark.textContent) below = middle * height + half;
    });
  }

  // ------------------------------------------------------------------ modes

  function enter(next) {
    mode = next;
    root.dataset.mode = mode;
    the("front").hidden = mode !== "ready";
    the("stage").hidden = mode === "ready";
    const words = { waiting: "Start now", running: "Pause", paused: "Go on", done: "To the start" };
    the("main-button").textContent = words[mode] || "Start";
    showChapters(mode === "ready");
    keepAwake(mode === "running" || mode === "waiting");
    part = -1;
    draw();
    requestAnimationFrame(frame);
  }

  let isAsked = false;
  function frame() {
    if (isAsked) return;
    isAsked = true;
    requestAnimationFrame(() => {
      isAsked = false;
      if (mode === "waiting") lookAtTime();
      draw();
      if (mode === "running" && clock.at() >= session.durationMs) clock.hold();
      if (mode === "running" || mode === "waiting") frame();
    });
  }

  // The clock started or stopped, by us or by a key of the system.
  function changed() {
    if (isPriming) return;
    if (clock.isRunning()) enter("running");
    else if (clock.at() >= session.durationMs - 50 || (track && track.ended)) enter("done");
    else if (mode === "running") enter("paused");
  }

  async function go() {
    if (mode === "waiting") mode = "starting"; // nothing is waited for any more
    startAt = null;
    try {
      await clock.go();
      the("main-button").focus();
    } catch (refused) {
      if (refused.name !== "AbortError") {
        enter("ready");
        notice("The browser did not let the sound begin. Press Start.");
      }
    }
  }

  function press() {
    if (mode === "running") clock.hold();
    else if (mode === "done") backToFront();
    else go();
  }

  function backToFront() {
    startAt = null;
    clock.jump(0);
    enter("ready");
    the("start-button").focus();
  }

  function jump(ms) {
    const at = Math.min(Math.max(0, ms), session.durationMs - 1);
    startAt = null;
    clock.jump(at);
    if (mode !== "running") enter("paused");
    draw();
  }

  function jumpToPart(index) {
    const wanted = session.parts[index];
    if (wanted) jump(wanted.startMs);
  }

  function chapterBefore() {
    const index = partAt(clock.at());
    const isNew = clock.at() - session.parts[index].startMs < AGAIN_MS;
    jumpToPart(Math.max(0, isNew ? index - 1 : index));
  }

  const chapterNext = () => jumpToPart(partAt(clock.at()) + 1);

  function notice(text) {
    the("notice").textContent = text;
  }

  // ---------------------------------------------------------- start by the clock

  let isPriming = false;
  let timer = 0;

  // A browser plays what a person has begun: so begin, silently, while they press.
  async function prime() {
    if (!track || clock.isWall) return;
    isPriming = true;
    track.muted = true;
    try {
      await track.play();
      track.pause();
    } catch {
      // It will be said when it matters: at the set time.
    }
    track.currentTime = 0;
    track.muted = false;
    isPriming = false;
  }

  async function waitForTime() {
    const wanted = nextTimeOfDay(the("clock-time").value);
    if (wanted === null) {
      notice("Give a time of day first.");
      the("clock-time").focus();
      return;
    }
    notice("");
    await prime();
    startAt = wanted;
    clock.jump(0);
    enter("waiting");
    the("main-button").focus();
    clearInterval(timer);
    timer = setInterval(lookAtTime, 500); // a page in the background has no frames
  }

  // Begin at the set time; where it was slept through, begin where the session is by now.
  function lookAtTime() {
    if (mode !== "waiting") {
      clearInterval(timer);
      return;
    }
    const lateMs = Date.now() - startAt;
    if (lateMs < 0) return;
    clearInterval(timer);
    if (lateMs > 100) clock.jump(Math.min(lateMs, session.durationMs));
    go();
  }

  // ------------------------------------------------------- chapters, screen, keys

  function showChapters(wanted) {
    root.dataset.chapters = wanted ? "shown" : "";
    the("chapters").hidden = !wanted;
    the("chapters-button").setAttribute("aria-expanded", String(wanted));
    the("chapters-button").hidden = mode === "ready";
  }

  function toggleChapters() {
    const wanted = the("chapters").hidden;
    showChapters(wanted);
    const current = document.querySelector("[aria-current]");
    if (wanted) (current || document.querySelector("[data-part]")).focus();
    else the("chapters-button").focus();
  }

  function walkChapters(step) {
    const buttons = [...document.querySelectorAll("[data-part]")];
    const index = buttons.indexOf(document.activeElement);
    buttons[Math.min(Math.max(0, index + step), buttons.length - 1)].focus();
  }

  let pressedAt = -ONE_PRESS_MS;
  function media(act) {
    const isSecond = performance.now() - pressedAt < ONE_PRESS_MS;
    pressedAt = performance.now();
    if (!isSecond) act();
  }

  const hold = () => mode === "running" && clock.hold();
  const start = () => mode !== "running" && press();

  const KEYS = {
    " ": press,
    Enter: press,
    ArrowLeft: () => jump(clock.at() - STEP_MS),
    ArrowRight: () => jump(clock.at() + STEP_MS),
    ArrowUp: chapterBefore,
    ArrowDown: chapterNext,
    PageUp: chapterBefore,
    PageDown: chapterNext,
    MediaPlayPause: () => media(press),
    MediaPlay: () => media(start),
    MediaPause: () => media(hold),
    MediaStop: () => media(hold),
    MediaTrackNext: () => media(chapterNext),
    MediaTrackPrevious: () => media(chapterBefore),
  };

  const LETTERS = {
    c: () => mode !== "ready" && toggleChapters(),
    f: toggleFull,
    d: () => setDark(root.dataset.look !== "dark"),
  };
  for (let digit = 0; digit <= 9; digit += 1) LETTERS[digit] = () => jumpToPart(digit);

  // What a key does now, or nothing where it belongs to what has the focus.
  function meaning(event) {
    const target = event.target;
    if (event.ctrlKey || event.altKey || event.metaKey) return undefined;
    if (target.matches("input")) return undefined;
    if (target.matches("button") && (event.key === " " || event.key === "Enter")) return undefined;
    if (event.key.startsWith("Media")) return KEYS[event.key];
    if (!the("chapters").hidden && mode !== "ready") {
      if (event.key === "Escape") return toggleChapters;
      if (event.key === "ArrowUp") return () => walkChapters(-1);
      if (event.key === "ArrowDown") return () => walkChapters(1);
    }
    const isMove = event.key.startsWith("Arrow") || event.key.startsWith("Page");
    if (mode === "ready" && isMove) return undefined; // they scroll
    const letter = event.key.length === 1 ? LETTERS[event.key.toLowerCase()] : undefined;
    return KEYS[event.key] || (the("letters").checked ? letter : undefined);
  }

  function listenToKeys() {
    document.addEventListener("keydown", (event) => {
      const act = meaning(event);
      if (!act) return;
      event.preventDefault();
      if (!event.repeat || event.key.startsWith("Arrow")) act();
    });
    the("clock-time").addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault(); // or it would press the button that has the focus next
      waitForTime();
    });
    if (!navigator.mediaSession) return;
    if (window.MediaMetadata) {
      navigator.mediaSession.metadata = new MediaMetadata({ title: document.title });
    }
    const commands = {
      play: start,
      pause: hold,
      stop: hold,
      previoustrack: chapterBefore,
      nexttrack: chapterNext,
    };
    for (const [name, act] of Object.entries(commands)) {
      try {
        navigator.mediaSession.setActionHandler(name, () => media(act));
      } catch {
        // A command that this browser does not know.
      }
    }
  }

  function listenToButtons() {
    the("start-button").addEventListener("click", press);
    the("main-button").addEventListener("click", press);
    the("clock-button").addEventListener("click", waitForTime);
    the("chapters-button").addEventListener("click", toggleChapters);
    the("full-button").addEventListener("click", toggleFull);
    the("dark-button").addEventListener("click", LETTERS.d);
    document.querySelectorAll("[data-part]").forEach((button) => {
      button.addEventListener("click", () => {
        jumpToPart(Number(button.dataset.part));
        if (root.dataset.chapters) toggleChapters();
      });
    });
  }

  function useWallClock() {
    const at = clock ? clock.at() : 0;
    clock = toldClock(changed);
    clock.isWall = true;
    clock.jump(at);
  }

  function listenToTrack() {
    track.addEventListener("error", () => {
      const wasRunning = mode === "running";
      useWallClock();
      notice("The track cannot be played: is it beside this page? The page keeps time without it.");
      if (wasRunning) clock.go();
    });
  }

  if (track) {
    clock = trackClock(track, changed);
    listenToTrack();
    if (track.error) useWallClock();
  } else {
    useWallClock();
  }
  listenToKeys();
  listenToButtons();
  document.addEventListener("fullscreenchange", () => {
    the("full-button").textContent = document.fullscreenElement ? "Leave full screen" : "Full screen";
  });
  the("full-button").hidden = !document.fullscreenEnabled;
  if (!navigator.wakeLock) {
    the("awake").textContent = "This browser cannot keep the screen awake: see to it yourself.";
  }
  setDark(matchMedia("(prefers-color-scheme: dark)").matches);
  addEventListener("resize", fitAll);
  enter("ready");
  fitAll();
})();
