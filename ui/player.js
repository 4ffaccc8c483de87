// Plays a short cut of film from its exact start, reads the counts along, and steps by a count. No dependencies.
// Films that stand side by side do together what is asked of one of them.
const TOGETHER = "countfall-together";

export default function (component) {
  const { data, parentElement } = component;
  const find = (name) => parentElement.querySelector(name);
  const film = find("video");
  if (film.dataset.cut === data.id) return;
  if (film.src) URL.revokeObjectURL(film.src);

  const bytes = Uint8Array.from(atob(data.film), (letter) => letter.charCodeAt(0));
  film.dataset.cut = data.id;
  film.src = URL.createObjectURL(new Blob([bytes], { type: "video/mp4" }));
  film.setAttribute("aria-label", data.about);
  find(".about").textContent = data.about;

  const counts = find(".counts");
  counts.replaceChildren(
    ...data.marks.map(([time, name]) => {
      const one = document.createElement("span");
      one.textContent = name;
      one.dataset.time = time;
      if (Math.abs(time - data.at) < 0.25) one.classList.add("here");
      return one;
    }),
  );

  const nowAt = () => data.marks.filter(([time]) => time <= film.currentTime + 0.02).length - 1;
  const show = () => [...counts.children].forEach((one, i) => one.classList.toggle("now", i === nowAt()));
  const watch = () => {
    show();
    if (!film.paused && !film.ended) requestAnimationFrame(watch);
  };
  const goTo = (place) => {
    film.pause();
    film.currentTime = data.marks[Math.max(0, Math.min(data.marks.length - 1, place))]?.[0] ?? 0;
  };
  const actions = {
    again: () => {
      film.currentTime = 0;
      film.play().catch(() => {});
    },
    pause: () => (film.paused ? film.play() : film.pause()),
    slow: () => {
      film.playbackRate = film.playbackRate === 1 ? 0.5 : 1;
      find("[data-do=slow]").setAttribute("aria-pressed", String(film.playbackRate !== 1));
    },
    back: () => goTo(film.currentTime - (data.marks[nowAt()]?.[0] ?? 0) > 0.1 ? nowAt() : nowAt() - 1),
    on: () => goTo(nowAt() + 1),
  };
  const ask = (name) =>
    data.beside ? window.dispatchEvent(new CustomEvent(TOGETHER, { detail: name })) : actions[name]();
  parentElement.querySelectorAll("[data-do]").forEach((button) => {
    button.onclick = () => ask(button.dataset.do);
    if (["back", "on"].includes(button.dataset.do)) button.disabled = data.marks.length === 0;
  });
  film.onplay = watch;
  film.onseeked = show;
  find(".stage").onkeydown = (event) => {
    const action = { ArrowLeft: "back", ArrowRight: "on", Home: "again", s: "slow", " ": "pause" }[event.key];
    // On a button the space bar presses it.
    if (!action || event.ctrlKey || event.metaKey || event.altKey || (event.key === " " && event.target.closest("button"))) return;
    event.preventDefault();
    event.stopPropagation();
    ask(action);
  };
  // The film's own place in the page lasts longer than one cut: it listens once, and whatever is played last answers.
  if (!film.asked) {
    const hear = (event) => (film.isConnected ? film.asked(event.detail) : window.removeEventListener(TOGETHER, hear));
    window.addEventListener(TOGETHER, hear);
  }
  film.asked = (name) => (name === "hush" ? film.pause() : data.beside && actions[name]());
  // Of two side by side one is enough to be heard.
  film.muted = Boolean(data.quiet);
  // A browser that plays nothing unasked leaves the film at its start, with its own play button. Of two side by side the one that is
  // ready last begins both anew, so that they go together from the first.
  if (data.beside) film.addEventListener("canplay", () => ask("again"), { once: true });
  else film.play().catch(() => {});
  show();
}
