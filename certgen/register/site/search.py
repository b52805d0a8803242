"""The search in the overview: it hides the rows that do not fit; without it every row is there."""

# The words of a row are those that `certgen register list --text` looks through. Letters count alike with and
# without marks and capitals; every word asked for must be there.
SCRIPT = """
(() => {
  const box = document.getElementById("search");
  const told = document.getElementById("told");
  const plain = text => text.toLowerCase().replaceAll("ß", "ss").normalize("NFD").replace(/\\p{M}/gu, "");
  const kinds = [...document.querySelectorAll("table[data-told]")].map(table => ({
    table,
    rows: [...table.tBodies[0].rows].map(row => [row, plain(row.dataset.words + " " + row.textContent)]),
  }));
  const search = () => {
    const words = plain(box.value).split(/\\s+/).filter(Boolean);
    const counts = kinds.map(kind => {
      let count = 0;
      for (const [row, text] of kind.rows) {
        row.hidden = !words.every(word => text.includes(word));
        count += !row.hidden;
      }
      return kind.table.dataset.told + " " + count;
    });
    told.textContent = words.length ? counts.join(", ") : "";
  };
  box.closest("form").hidden = false;
  box.closest("form").addEventListener("submit", event => event.preventDefault());
  box.addEventListener("input", search);
  addEventListener("pageshow", search);
})();
"""
