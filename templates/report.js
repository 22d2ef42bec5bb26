(() => {
  const finder = document.getElementById("finder");
  const folds = [...document.querySelectorAll("details")];
  const asOpen = () => folds.map((fold) => fold.open);
  const restore = (open) => folds.forEach((fold, at) => { fold.open = open[at]; });
  let kept = null;
  addEventListener("beforeprint", () => { kept = asOpen(); folds.forEach((fold) => { fold.open = true; }); });
  addEventListener("afterprint", () => { if (kept) restore(kept); });
  if (!finder) return;
  const field = document.getElementById("find"), found = document.getElementById("found");
  const rows = [...document.querySelectorAll(".entries tbody tr, .entry")];
  const texts = rows.map((row) => row.textContent.toLowerCase());
  let before = null;
  const look = () => {
    const wanted = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    const searching = wanted.length !== 0;
    if (searching) before = before || asOpen();
    let count = 0;
    rows.forEach((row, at) => {
      const fits = wanted.every((word) => texts[at].includes(word));
      row.classList.toggle("off", !fits);
      if (fits) count += 1;
    });
    folds.forEach((fold) => {
      const any = fold.querySelector("tbody tr:not(.off), .entry:not(.off)") !== null;
      fold.classList.toggle("off", !any);
      if (searching) fold.open = any;
    });
    if (!searching) { if (before) restore(before); before = null; }
    found.textContent = searching ? (count === 1 ? "1 row" : count + " rows") : "";
  };
  finder.hidden = false;
  field.addEventListener("input", look);
})();
