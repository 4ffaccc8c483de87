// Plays a part of the clip and takes taps on the player's own clock. No dependencies.
const LEAST = 6;

export default function (component) {
  const { data, parentElement, setTriggerValue } = component;
  const find = (name) => parentElement.querySelector(name);
  const film = find("video");
  if (film.dataset.cut === data.id) return;
  if (film.src) URL.revokeObjectURL(film.src);

  const bytes = Uint8Array.from(atob(data.film), (letter) => letter.charCodeAt(0));
  film.dataset.cut = data.id;
  film.src = URL.createObjectURL(new Blob([bytes], { type: "video/mp4" }));
  let taps = [];
  let one = null;

  // The player has moved on between the finger and this line; the event knows when the finger was.
  const second = (event) => {
    const late = film.paused ? 0 : Math.max(0, performance.now() - event.timeStamp) / 1000;
    return data.from + film.currentTime - late * film.playbackRate;
  };
  const tell = () => {
    const first = one === null ? "" : `, count 1 at ${one.toFixed(2)} s`;
    find(".told").textContent = taps.length || one !== null ? `${taps.length} taps${first}` : "";
    find("[data-do=done]").disabled = taps.length < LEAST;
  };
  const actions = {
    tap: (event) => {
      if (!film.paused) taps.push(second(event));
    },
    one: (event) => {
      one = second(event);
      if (film.paused || taps.length === 0) {
        film.pause();
        setTriggerValue("one", one);
      } else {
        taps.push(one);
      }
    },
    slow: () => {
      film.playbackRate = film.playbackRate === 1 ? 0.5 : 1;
      find("[data-do=slow]").setAttribute("aria-pressed", String(film.playbackRate !== 1));
    },
    clear: () => {
      taps = [];
      one = null;
      film.currentTime = 0;
      film.play();
    },
    done: () => {
      film.pause();
      setTriggerValue("done", { taps, one });
    },
  };
  const act = (name, event) => {
    actions[name](event);
    tell();
  };
  parentElement.querySelectorAll("[data-do]").forEach((button) => {
    const name = button.dataset.do;
    // A finger taps when it comes down, not when it leaves.
    if (["tap", "one"].includes(name)) {
      button.onpointerdown = (event) => act(name, event);
      button.onclick = (event) => event.detail === 0 && act(name, event);
    } else {
      button.onclick = (event) => act(name, event);
    }
  });
  find(".stage").onkeydown = (event) => {
    const name = { " ": "tap", t: "tap", 1: "one", s: "slow" }[event.key];
    const elsewhere = event.target.dataset.do && event.key === " " && !["tap", "one"].includes(event.target.dataset.do);
    if (!name || event.repeat || elsewhere) return;
    event.preventDefault();
    event.stopPropagation();
    act(name, event);
  };
  tell();
}
