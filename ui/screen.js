// Names off and a blank screen, each on one key, for a page on a projector. No dependencies.
// Keys that are single letters can be switched off, for whoever speaks to the computer or types with difficulty.
export default function (component) {
  const { data, parentElement, setTriggerValue } = component;
  const find = (name) => parentElement.querySelector(`[data-do=${name}]`);
  const blank = () => document.getElementById("countfall-blank");

  const cover = () => {
    const before = document.activeElement;
    const sheet = document.createElement("dialog");
    sheet.id = "countfall-blank";
    sheet.setAttribute("aria-label", "The screen is blank");
    sheet.style.cssText =
      "position:fixed;inset:0;width:100vw;height:100vh;max-width:none;max-height:none;border:0;margin:0;padding:0;background:#20242e";
    const back = document.createElement("button");
    back.type = "button";
    back.textContent = "Show the page again (b)";
    back.style.cssText =
      "position:absolute;right:1.5rem;bottom:1.5rem;font:1rem sans-serif;color:#fbf9f5;background:#20242e;border:1px solid #8d8a99;" +
      "border-radius:0.3rem;padding:0.7rem 1.1rem;cursor:pointer";
    back.onclick = () => sheet.close();
    sheet.onclose = () => {
      sheet.remove();
      before?.focus?.();
    };
    sheet.append(back);
    document.body.append(sheet);
    window.dispatchEvent(new CustomEvent("countfall-together", { detail: "hush" }));
    sheet.showModal();
  };
  const actions = {
    names: () => setTriggerValue("names", !data.names_off),
    blank: () => (blank() ? blank().close() : cover()),
    keys: () => {
      const on = find("keys").getAttribute("aria-pressed") !== "true";
      find("keys").setAttribute("aria-pressed", String(on));
      find("keys").textContent = on ? "These keys are on" : "These keys are off";
    },
  };
  for (const [name, act] of Object.entries(actions)) find(name).onclick = act;
  find("names").setAttribute("aria-pressed", String(data.names_off));

  const press = (event) => {
    const typing = event.composedPath()[0]?.closest?.("input, textarea, select, [contenteditable=true]");
    if (typing || event.ctrlKey || event.metaKey || event.altKey || find("keys").getAttribute("aria-pressed") !== "true") return;
    const action = { n: "names", b: "blank" }[event.key.toLowerCase()];
    if (!action) return;
    event.preventDefault();
    actions[action]();
  };
  // This runs again whenever the page has something new to say: only the last one listens.
  document.removeEventListener("keydown", parentElement.press);
  parentElement.press = press;
  document.addEventListener("keydown", press);
  return () => document.removeEventListener("keydown", press);
}
