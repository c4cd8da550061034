// Small things that everything else is made of. Text from the bundle only ever becomes text.
const find = (selector, from = document) => from.querySelector(selector);
const findAll = (selector, from = document) => [...from.querySelectorAll(selector)];

function make(name, properties = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (key in element && !key.includes("-")) element[key] = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

// Said to everybody: shown for a while, and read out.
let toldUntil = 0;
function tell(text) {
  const place = find("#told");
  (find("dialog[open] .boards") ?? document.body).append(place); // what stands outside an open window is neither seen nor read out
  place.textContent = "";
  place.textContent = text;
  clearTimeout(toldUntil);
  toldUntil = setTimeout(() => { place.textContent = ""; }, 8000);
}
