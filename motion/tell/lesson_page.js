// Timers, metronome, tapped tempo and paced breathing of a lesson. No dependencies, nothing stored, nothing sent.
function lessonWidgets(root) {
  if (root.dataset.ready) return;
  root.dataset.ready = "1";
  const all = (name) => [...root.querySelectorAll(name)];
  const one = (name) => root.querySelector(name);
  let sound = null;
  const ears = () => {
    sound = sound || new AudioContext();
    if (sound.state === "suspended") sound.resume();
    return sound;
  };

  // A sound of `hz` at the sound clock's time `at`, dying away within `long` seconds.
  const blip = (at, hz, loud, long) => {
    const tone = sound.createOscillator();
    const gain = sound.createGain();
    tone.frequency.value = hz;
    gain.gain.setValueAtTime(loud, at);
    gain.gain.exponentialRampToValueAtTime(0.0001, at + long);
    tone.connect(gain).connect(sound.destination);
    tone.start(at);
    tone.stop(at + long);
  };
  let hiss = null;
  const brush = (at, loud, long) => {
    if (!hiss) {
      hiss = sound.createBuffer(1, sound.sampleRate / 4, sound.sampleRate);
      const values = hiss.getChannelData(0);
      for (let k = 0; k < values.length; k++) values[k] = Math.random() * 2 - 1;
    }
    const noise = sound.createBufferSource();
    const gain = sound.createGain();
    const high = sound.createBiquadFilter();
    high.type = "highpass";
    high.frequency.value = 3000;
    noise.buffer = hiss;
    gain.gain.setValueAtTime(loud, at);
    gain.gain.exponentialRampToValueAtTime(0.0001, at + long);
    noise.connect(high).connect(gain).connect(sound.destination);
    noise.start(at);
    noise.stop(at + long);
  };
  const chime = (hz, times) => {
    ears();
    for (let k = 0; k < times; k++) blip(sound.currentTime + 0.02 + 0.22 * k, hz, 0.4, 0.2);
  };
  const clock = (seconds) => {
    const whole = Math.max(0, Math.ceil(seconds - 1e-6));
    return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
  };

  // Timers. data-timer: pieces "name=seconds" one after the other; the wall clock is asked, so that a sleepy tab stays right.
  const bar = one(".timerbar");
  let run = null;
  const told = (words) => {
    if (bar.querySelector(".said").textContent !== words) bar.querySelector(".said").textContent = words;
  };
  const show = () => {
    if (!run) return;
    const now = run.held ?? performance.now();
    let left = run.ends - now;
    while (left <= 0 && run.at < run.pieces.length - 1) {
      run.at += 1;
      run.ends += run.pieces[run.at][1] * 1000;
      left = run.ends - now;
      chime(660, 2);
    }
    told(run.pieces[run.at][0]);
    bar.querySelector(".left").textContent = clock(left / 1000);
    if (left <= 0) {
      chime(880, 3);
      told(`${run.pieces[run.at][0]}: time is up`);
      run = null;
    }
  };
  const begin = (pieces) => {
    ears();
    chime(880, 1);
    run = { pieces, at: 0, ends: performance.now() + pieces[0][1] * 1000, held: null };
    bar.hidden = false;
    bar.querySelector("[data-do=hold]").textContent = "Pause";
    show();
  };
  all("[data-timer]").forEach((button) => {
    const pieces = button.dataset.timer.split("|").map((piece) => {
      const cut = piece.lastIndexOf("=");
      return [piece.slice(0, cut), Number(piece.slice(cut + 1))];
    });
    button.onclick = () => begin(pieces);
  });
  if (bar) {
    bar.querySelector("[data-do=hold]").onclick = (event) => {
      if (!run) return;
      if (run.held === null) {
        run.held = performance.now();
        event.target.textContent = "Go on";
      } else {
        run.ends += performance.now() - run.held;
        run.held = null;
        event.target.textContent = "Pause";
      }
    };
    bar.querySelector("[data-do=more]").onclick = () => {
      if (run) run.ends += 30000;
      show();
    };
    bar.querySelector("[data-do=end]").onclick = () => {
      run = null;
      bar.hidden = true;
    };
    const looking = setInterval(() => (root.isConnected ? show() : clearInterval(looking)), 200);
  }

  // Metronome: clicks are handed to the sound clock a little ahead, so that a busy screen does not shake them.
  const box = one(".metronome");
  if (box) {
    const section = Number(box.dataset.section);
    const least = Number(box.dataset.least);
    const most = Number(box.dataset.most);
    const field = box.querySelector("input[type=number]");
    const face = box.querySelector(".face");
    const backing = box.querySelector("input[type=checkbox]");
    let ticking = null;
    let shown = [];
    const tempo = () => Math.min(most, Math.max(least, Number(field.value) || Number(box.dataset.bpm)));
    const lead = () => {
      const slow = section === 6 ? [4, 5, 6] : [5, 6, 7, 8];
      return section === 8 && tempo() >= Number(box.dataset.fast) ? [5, 0, 6, 0, ...slow] : slow;
    };
    const strike = (at, n, gap) => {
      const count = ((n % section) + section) % section;
      const bar4 = section === 6 ? 3 : 4;
      blip(at, count === 0 ? 1650 : 1100, 0.35, 0.07);
      if (!backing.checked || n < 0) return;
      if (count % bar4 === 0) {
        blip(at, 55, 0.8, 0.2);
      } else if (section === 6) {
        brush(at, 0.12, 0.08);
      } else if (count % 2 === 0) {
        blip(at, 55, 0.6, 0.18);
      } else {
        brush(at, 0.3, 0.14);
      }
      if (section === 8) brush(at + gap / 2, 0.1, 0.05);
    };
    const ahead = () => {
      if (!root.isConnected) return stop();
      while (ticking && ticking.next < sound.currentTime + 0.25) {
        const gap = 60 / tempo();
        strike(ticking.next, ticking.n, gap);
        const words = ticking.n < 0 ? ticking.lead[ticking.n + ticking.lead.length] : (ticking.n % section) + 1;
        shown.push([ticking.next, words || "·", ticking.n < 0]);
        ticking.n += 1;
        ticking.next += gap;
      }
    };
    const look = () => {
      if (!ticking) return;
      while (shown.length && shown[0][0] <= sound.currentTime) {
        const [, words, early] = shown.shift();
        face.textContent = words;
        face.classList.toggle("early", early);
        face.classList.toggle("first", words === 1);
      }
      requestAnimationFrame(look);
    };
    function stop() {
      if (ticking) clearInterval(ticking.beat);
      ticking = null;
      shown = [];
      face.textContent = "–";
      box.querySelector("[data-do=start]").textContent = "Start";
    }
    const start = () => {
      stop();
      ears();
      const called = lead();
      ticking = { n: -called.length, lead: called, next: sound.currentTime + 0.15 };
      ticking.beat = setInterval(ahead, 25);
      ahead();
      look();
      box.querySelector("[data-do=start]").textContent = "Stop";
    };
    box.querySelector("[data-do=start]").onclick = () => (ticking ? stop() : start());
    field.onchange = () => {
      field.value = String(tempo());
    };
    box.querySelectorAll("[data-bpm-set]").forEach((button) => {
      button.onclick = () => {
        field.value = button.dataset.bpmSet;
        if (ticking) start();
      };
    });
    // Tapped tempo: 60 over the middle gap of the taps since the last long pause.
    let taps = [];
    const tapButton = box.querySelector("[data-do=tap]");
    const tap = (event) => {
      const at = event.timeStamp / 1000;
      if (taps.length && at - taps[taps.length - 1] > Number(box.dataset.pause)) taps = [];
      taps.push(at);
      if (taps.length < Number(box.dataset.taps)) return;
      const gaps = taps.slice(1).map((t, k) => t - taps[k]).sort((a, b) => a - b);
      const middle = (gaps[Math.floor((gaps.length - 1) / 2)] + gaps[Math.floor(gaps.length / 2)]) / 2;
      const heard = 60 / middle;
      if (heard >= least && heard <= most) field.value = String(Math.round(heard));
    };
    // A finger taps when it comes down, not when it leaves.
    tapButton.onpointerdown = tap;
    tapButton.onclick = (event) => event.detail === 0 && tap(event);
  }

  // Breathing to a pace.
  const breath = one(".breath");
  if (breath) {
    const inS = Number(breath.dataset.in);
    const outS = Number(breath.dataset.out);
    const ball = breath.querySelector(".ball");
    const words = breath.querySelector(".words");
    let began = null;
    const draw = (now) => {
      if (began === null) return;
      const at = ((now - began) / 1000) % (inS + outS);
      const share = at < inS ? at / inS : 1 - (at - inS) / outS;
      ball.style.transform = `scale(${0.45 + 0.55 * (0.5 - 0.5 * Math.cos(Math.PI * share))})`;
      const say = at < inS ? breath.dataset.inWords : breath.dataset.outWords;
      if (words.textContent !== say) words.textContent = say;
      requestAnimationFrame(draw);
    };
    breath.querySelector("button").onclick = (event) => {
      if (began === null) {
        began = performance.now();
        event.target.textContent = "Stop";
        requestAnimationFrame(draw);
      } else {
        began = null;
        event.target.textContent = "Breathe with it";
        words.textContent = "";
        ball.style.transform = "scale(0.45)";
      }
    };
  }
}
