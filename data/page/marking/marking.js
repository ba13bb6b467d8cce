// Mark fields that are refused, and let words lead to their field.
// data = [{refused: {key: sentence}, before: "text", links: [[words, key, fold], ...]}]

const marked = new WeakMap();

const LONGEST_WAIT = 10000; // ms, for a field that is drawn once its fold is open

function within(key, what) {
  const name = key.replace(/[^a-zA-Z0-9_-]/g, "-"); // as the page library makes a class of it
  return document.querySelector(`.st-key-${name} ${what}`);
}

function fieldOf(key) {
  return within(key, ":is(input, textarea)");
}

// Open the folds and tabs that a field lies in.
function reveal(field) {
  for (let inside = field; inside; inside = inside.parentElement) {
    if (inside.matches("details:not([open])")) inside.querySelector("summary").click();
    const panel = inside.matches('[role="tabpanel"]') && inside.getAttribute("aria-labelledby");
    if (panel) document.getElementById(panel)?.click();
  }
}

function goTo(key, fold) {
  const field = fieldOf(key);
  if (field) return show(field);
  const coming = new MutationObserver(() => {
    const field = fieldOf(key);
    if (!field) return;
    coming.disconnect();
    show(field);
  });
  coming.observe(document.body, { subtree: true, childList: true });
  setTimeout(() => coming.disconnect(), LONGEST_WAIT);
  if (fold) within(fold, "details:not([open]) > summary")?.click();
}

function show(field) {
  reveal(field);
  setTimeout(() => {
    field.scrollIntoView({ block: "center" });
    field.focus({ preventScroll: true });
  }, 150);
}

function mark(parent, refused) {
  for (const field of marked.get(parent) ?? []) {
    field.removeAttribute("aria-invalid");
    field.removeAttribute("aria-description");
  }
  const now = [];
  for (const [key, sentence] of Object.entries(refused)) {
    const field = fieldOf(key);
    if (!field) continue;
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-description", sentence);
    now.push(field);
  }
  marked.set(parent, now);
}

export default function (component) {
  const { data: [data], parentElement } = component;
  mark(parentElement, data.refused);
  const later = setTimeout(() => mark(parentElement, data.refused), 400); // fields still coming
  const line = parentElement.querySelector(".line") ?? document.createElement("div");
  line.className = "line";
  const parts = [document.createTextNode(data.before)];
  data.links.forEach(([words, key, fold], index) => {
    const link = document.createElement("a");
    link.href = `#${key}`;
    link.textContent = words;
    link.addEventListener("click", (event) => {
      event.preventDefault();
      goTo(key, fold);
    });
    parts.push(document.createTextNode(index ? ", " : ""), link);
  });
  if (data.links.length) parts.push(document.createTextNode("."));
  line.replaceChildren(...parts);
  parentElement.append(line);
  return () => {
    clearTimeout(later);
    mark(parentElement, {}); // gone, or to be marked anew
  };
}
