// Checks the laid-out page and posts the faults to the parent frame.
(() => {
  const wrong = [];
  const say = (what, text) => wrong.push(what + ": " + String(text).trim().slice(0, 80));
  const shown = (element) => element.getClientRects().length > 0;
  const rgb = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const linear = (byte) => {
    const value = byte / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  // Relative luminance and contrast: WCAG 2.2.
  const luminance = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const contrast = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)];
    return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
  };
  const ground = (element) => {
    for (let at = element; at; at = at.parentElement) {
      const colour = rgb(getComputedStyle(at).backgroundColor);
      if (colour.length === 3 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  const page = document.documentElement;
  if (page.scrollWidth > window.innerWidth + 1) {
    say("wider than the window", page.scrollWidth + " in " + window.innerWidth);
  }
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let words = 0;
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    if (!node.data.trim() || element.closest("svg, script, style") || !shown(element)) continue;
    words += 1;
    const range = document.createRange();
    range.selectNodeContents(node);
    const block = element.closest("td, th, li, p, h1, h2, h3, figcaption, caption") || element;
    const box = block.getBoundingClientRect();
    for (const rect of range.getClientRects()) {
      const out = rect.left < box.left - 1 || rect.right > box.right + 1;
      if (out || rect.right > window.innerWidth + 1) say("outside its box", node.data);
    }
    if (contrast(rgb(getComputedStyle(element).color), ground(element)) < 4.5) {
      say("too little contrast", node.data);
    }
  }
  let pictures = 0;
  for (const picture of document.querySelectorAll("svg, img")) {
    const title = picture.querySelector("title"), long = picture.querySelector("desc");
    const alternative = picture.tagName === "IMG" ? picture.alt
      : picture.getAttribute("role") === "img" && title && long && title.textContent && long.textContent;
    if (!alternative) say("a picture without words", picture.outerHTML.slice(0, 60));
    if (!shown(picture)) continue;
    pictures += 1;
    const frame = picture.getBoundingClientRect();
    const texts = [...picture.querySelectorAll("text")];
    const boxes = texts.map((text) => text.getBoundingClientRect());
    texts.forEach((text, index) => {
      const box = boxes[index];
      const across = box.left < frame.left - 1 || box.right > frame.right + 1;
      const down = box.top < frame.top - 1 || box.bottom > frame.bottom + 1;
      if (across || down) say("cut off", text.textContent);
      if (contrast(rgb(getComputedStyle(text).fill), [255, 255, 255]) < 4.5) {
        say("too little contrast", text.textContent);
      }
      boxes.slice(index + 1).forEach((other, later) => {
        const across = Math.min(box.right, other.right) - Math.max(box.left, other.left);
        const down = Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top);
        if (across > 1 && down > 2) say("one over another", text.textContent + " / " + texts[index + 1 + later].textContent);
      });
    });
  }
  for (const element of document.querySelectorAll("[src], link[href]")) say("something to fetch", element.outerHTML);
  parent.postMessage(JSON.stringify({ page: window.name, wrong, words, pictures }), "*");
})();
