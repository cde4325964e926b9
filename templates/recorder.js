// The recorder's page: a line is said, heard again, kept; then the next.
//
// Modes: closed (the microphone is), idle, count, recording, recorded, sending, kept. One
// broad button does what comes next in each of them. What a take is worth the server says,
// which hears it by the same rules as `cuegen takes check`. Words are set as text.

"use strict";

(() => {
  const session = JSON.parse(the("session").textContent);
  const lines = session.lines;
  const root = document.documentElement;
  const calm = matchMedia("(prefers-reduced-motion: reduce)");

  const COUNT_MS = 1200; // three marks
  const EARLY_MS = 600; // kept from before the count's end: some begin early, and the room
  const TAIL_MS = 250; // kept after the last press
  const LATEST = 75; // blocks of the level that is judged: 1.6 s
  const LOUD_DB = -1.5; // our own choice, as a peak; at full scale peaks are cut off
  const QUIET_DB = -32; // our own choice: the house's least level lies some 10 dB under it
  const FLOOR_DB = -60;
  const NOT_USED = "take, not used";

  let mode = "closed";
  let index = 0;
  let graph = null;
  let blocks = []; // of the take in hand
  let levels = []; // peaks of the latest blocks
  let countedFrom = 0; // when the count began
  let startedAt = 0; // when it ended
  let sound = null; // the samples of what was recorded
  let playing = null;
  const states = lines.map((line) => (line.recorded ? "take" : ""));

  const line = () => lines[index];

  function say(element, text) {
    if (element.textContent !== text) element.textContent = text;
  }

  // ------------------------------------------------------------------ the ear

  function heard(block) {
    levels.push(peakOf(block));
    if (levels.length > LATEST) levels.shift();
    const keeps = mode === "count" || mode === "recording" || mode === "ending";
    if (keeps) blocks.push(block);
    if (mode === "count") blocks = blocks.slice(-Math.ceil((EARLY_MS * graph.sampleRate) / 1024e3));
    const tookMs = performance.now() - startedAt;
    if (mode === "recording" && tookMs > 1000 * session.mostTakeS - 2000) stop();
  }

  async function open() {
    try {
      graph = await openMicrophone(heard, lost);
      enter("idle");
    } catch (refused) {
      const isBarred = refused.name === "NotAllowedError";
      const barred = "The browser did not allow the microphone. Allow it for this page, then try again.";
      const none = "No microphone could be opened. Plug one in, then try again.";
      verdict([[isBarred ? barred : none, ""]], "bad");
    }
  }

  function lost() {
    graph = null;
    blocks = [];
    enter("closed");
    verdict([["The microphone is gone.", "Plug it in, then open it again."]], "bad");
  }

  function drawLevel() {
    const now = dbOf(Math.max(...levels.slice(-4), 0));
    const top = dbOf(Math.max(...levels, 0));
    const share = (db) => `${(100 * Math.min(1, Math.max(0, 1 - db / FLOOR_DB))).toFixed(1)}%`;
    the("level-now").style.width = share(now);
    the("level-top").style.left = share(top);
    the("level").setAttribute("aria-valuenow", String(Math.round(Math.max(FLOOR_DB, now))));
    the("level").classList.toggle("loud", top > LOUD_DB);
    say(the("level-words"), levelWords(top));
  }

  function levelWords(top) {
    if (!graph) return "The microphone is not open yet.";
    if (top > LOUD_DB) return "Too loud: peaks are cut off. Less gain, or farther from the microphone.";
    const isLate = performance.now() - startedAt > 1500;
    if (mode === "recording" && isLate && top < QUIET_DB) return "Too quiet: nearer, or more gain.";
    if (top < QUIET_DB) return "Quiet.";
    return "The level is good.";
  }

  // -------------------------------------------------------------------- modes

  const MAIN = {
    closed: ["Open the microphone", open],
    idle: ["Record", count],
    count: ["Let it go", letGo],
    recording: ["Stop", stop],
    ending: ["Stop", () => {}],
    recorded: ["Keep it", keep],
    sending: ["Being heard", () => {}],
    kept: ["Go on", next],
    faulty: ["Say it again", again],
  };

  function enter(to) {
    mode = to;
    root.dataset.mode = mode;
    say(the("main-button"), MAIN[mode][0]);
    the("main-button").setAttribute("aria-disabled", String(mode === "sending" || mode === "ending"));
    const isUnderWay = ["count", "recording", "ending", "sending"].includes(mode);
    const isBusy = isUnderWay || mode === "recorded"; // a take is kept, or let go, first
    the("play-button").disabled = isUnderWay || !graph || !(sound || states[index]);
    the("again-button").disabled = !["recorded", "kept"].includes(mode);
    the("before-button").disabled = isBusy || index === 0;
    the("next-button").disabled = isBusy || index === lines.length - 1;
    document.querySelectorAll("[data-line]").forEach((button) => (button.disabled = isBusy));
    draw();
    frame();
  }

  function show(to) {
    index = to;
    sound = null;
    stopPlaying();
    verdict([]);
    say(the("number"), String(line().number));
    say(the("line"), line().text);
    fit(the("line"));
    placeMarks();
    say(the("facts"), `at most ${line().longest} s; the voice takes ${line().about} s; said at ${line().at}`);
    document.querySelectorAll("[data-line]").forEach((button, i) => {
      if (i === index) button.setAttribute("aria-current", "step");
      else button.removeAttribute("aria-current");
    });
    document.querySelector("[aria-current]").scrollIntoView({ block: "nearest" });
    enter(graph ? "idle" : "closed");
  }

  function count() {
    stopPlaying();
    verdict([]);
    sound = null;
    blocks = [];
    countedFrom = performance.now();
    enter("count");
  }

  function letGo() {
    stopPlaying();
    sound = null;
    blocks = [];
    enter("idle");
  }

  function begin() {
    startedAt = performance.now();
    levels = [];
    enter("recording");
  }

  function stop() {
    enter("ending");
    setTimeout(() => {
      if (mode !== "ending") return;
      sound = joined(blocks);
      blocks = [];
      enter("recorded");
    }, TAIL_MS);
  }

  async function keep() {
    stopPlaying();
    enter("sending");
    try {
      const answer = await fetch(`take/${line().number}`, {
        method: "POST",
        headers: { "Content-Type": "audio/wav" },
        body: wavOf(sound, graph.sampleRate),
      });
      const facts = await answer.json();
      if (answer.ok) taken(facts);
      else refused(facts.problem);
    } catch {
      refused("The recorder does not answer. Is it still running in the terminal?");
    }
  }

  function refused(words) {
    verdict([[words, ""]], "bad");
    enter("recorded");
  }

  function taken(facts) {
    const isGood = facts.faults.length === 0;
    states[index] = isGood ? "take" : NOT_USED;
    const length = facts.lengthMs === null ? "" : ` It lasts ${(facts.lengthMs / 1000).toFixed(1)} s.`;
    const faults = facts.faults.map((fault) => [`${capital(fault.kind)}: ${fault.problem}.`, fault.remedy]);
    const good = [[`Kept as ${facts.file}.${length}`, facts.doubt ? `Listen to it: ${facts.doubt}.` : ""]];
    const moved = facts.moved.length ? [[`Moved to the folder earlier: ${facts.moved.join(", ")}.`, ""]] : [];
    const unused = isGood ? [] : [["Kept, but a track would not use it.", ""]];
    verdict([...(isGood ? good : faults), ...unused, ...moved], isGood ? "good" : "bad");
    drawList();
    enter(isGood ? "kept" : "faulty");
  }

  const capital = (word) => word[0].toUpperCase() + word.slice(1);

  function again() {
    if (!["recorded", "kept", "faulty"].includes(mode)) return;
    count();
    the("main-button").focus();
  }

  function next() {
    if (index < lines.length - 1) show(index + 1);
    else verdict([["That was the last line.", ""]], "good");
  }

  // ------------------------------------------------------------------ playing

  function stopPlaying() {
    if (playing) playing.stop();
    playing = null;
    say(the("play-button"), "Play");
  }

  async function play() {
    if (the("play-button").disabled) return;
    if (playing) {
      stopPlaying();
      return;
    }
    const heardAgain = sound ? bufferOf(sound) : await stored();
    if (!heardAgain) return;
    playing = new AudioBufferSourceNode(graph, { buffer: heardAgain });
    const mine = playing;
    playing.onended = () => playing === mine && stopPlaying();
    playing.connect(graph.destination);
    playing.start();
    say(the("play-button"), "Stop playing");
  }

  function bufferOf(samples) {
    const buffer = new AudioBuffer({ length: samples.length, sampleRate: graph.sampleRate });
    buffer.copyToChannel(samples, 0);
    return buffer;
  }

  async function stored() {
    try {
      const answer = await fetch(`take/${line().number}`);
      if (answer.ok) return await graph.decodeAudioData(await answer.arrayBuffer());
    } catch {
      // It is said below.
    }
    verdict([["The take of this line cannot be played here.", ""]], "bad");
    return null;
  }

  // ------------------------------------------------------------------ drawing

  const SIGNALS = {
    count: "Get ready.",
    recording: "Recording: say it now.",
    recorded: "Play it, then keep it or say it again.",
    sending: "Your take is being listened to.",
  };

  let isAsked = false;
  function frame() {
    if (isAsked) return;
    isAsked = true;
    requestAnimationFrame(() => {
      isAsked = false;
      if (mode === "count" && performance.now() - countedFrom >= COUNT_MS) begin();
      draw();
      if (graph) frame();
    });
  }

  function draw() {
    drawLevel();
    drawCount();
    drawLane();
    say(the("standing"), states[index] ? `has a ${states[index]}` : "");
    say(the("signal"), SIGNALS[mode] || "");
  }

  function drawCount() {
    const leftMs = COUNT_MS - (performance.now() - countedFrom);
    the("blades").classList.toggle("counting", mode === "count");
    [...the("blades").children].forEach((blade, i) => {
      const part = Math.min(1, Math.max(0, (3 * leftMs) / COUNT_MS - (2 - i)));
      const share = calm.matches ? Math.ceil(part) : part;
      blade.style.setProperty("--full", (mode === "count" ? share : 0).toFixed(2));
    });
  }

  // The lane has room for a slow take; its marks: how long the voice takes, and the most.
  const laneMs = () => Math.min(1.5 * line().longestMs, Math.max(3000, 2.5 * line().aboutMs));

  function placeMarks() {
    the("about").style.left = `${(100 * line().aboutMs) / laneMs()}%`;
    the("most").style.left = `${(100 * line().longestMs) / laneMs()}%`;
    the("most").hidden = line().longestMs > laneMs();
  }

  function drawLane() {
    const isUnder = mode === "recording" || mode === "ending";
    const gone = isUnder ? performance.now() - startedAt : 0;
    const step = calm.matches ? 500 : 1;
    const share = `${Math.min(100, (100 * Math.floor(gone / step) * step) / laneMs()).toFixed(1)}%`;
    the("lane").classList.toggle("under-way", isUnder);
    the("water").style.width = share;
    the("boat").style.left = share;
  }

  function drawList() {
    document.querySelectorAll("[data-line] .state").forEach((state, i) => {
      say(state, states[i]);
      state.classList.toggle("flag", states[i] === NOT_USED);
    });
    say(the("done"), String(states.filter((state) => state === "take").length));
  }

  // sentences: pairs of what is said and what to do.
  function verdict(sentences, kind = "") {
    const box = the("verdict");
    box.replaceChildren();
    box.className = `verdict ${kind}`;
    for (const [what, then] of sentences) {
      const words = document.createElement("p");
      words.append(Object.assign(document.createElement("strong"), { textContent: what }), ` ${then}`);
      box.append(words);
    }
  }

  // --------------------------------------------------------------------- keys

  const before = () => the("before-button").disabled || show(index - 1);
  const after = () => the("next-button").disabled || show(index + 1);

  const KEYS = {
    " ": () => MAIN[mode][1](),
    Enter: () => MAIN[mode][1](),
    ArrowDown: after,
    ArrowUp: before,
    PageDown: after,
    PageUp: before,
    Escape: () => {
      if (["count", "recording", "recorded"].includes(mode)) letGo();
    },
  };
  const LETTERS = { p: play, a: again, d: () => setDark(root.dataset.look !== "dark") };

  function meaning(event) {
    const { target, key } = event;
    if (event.ctrlKey || event.altKey || event.metaKey) return undefined;
    if (target.matches("button, input, summary") && (key === " " || key === "Enter")) return undefined;
    if (KEYS[key]) return KEYS[key];
    return the("letters").checked ? LETTERS[key.toLowerCase()] : undefined;
  }

  document.addEventListener("keydown", (event) => {
    const act = meaning(event);
    if (!act) return;
    event.preventDefault();
    if (!event.repeat) act();
  });
  const presses = {
    "main-button": () => MAIN[mode][1](),
    "play-button": play,
    "again-button": again,
    "before-button": before,
    "next-button": after,
    "dark-button": LETTERS.d,
  };
  for (const [id, act] of Object.entries(presses)) the(id).addEventListener("click", act);
  document.querySelectorAll("[data-line]").forEach((button, i) => {
    button.addEventListener("click", () => {
      show(i);
      the("main-button").focus();
    });
  });
  addEventListener("resize", () => fit(the("line")));
  setDark(matchMedia("(prefers-color-scheme: dark)").matches);
  drawList();
  show(Math.max(0, states.findIndex((state) => state === "")));
  the("main-button").focus();
})();
