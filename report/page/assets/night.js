"use strict";
// Sorting and filtering of the tables, without a server.
(() => {
	// A cell sorts by its key where it has one, else as a number where all of
	// it is one, else as text.
	function key(td) {
		const text = td.dataset.key ?? td.textContent.trim();
		const plain = text.replace("\u2212", "-");
		return plain !== "" && Number.isFinite(+plain) ? +plain : text;
	}

	function compare(a, b) {
		const na = typeof a === "number", nb = typeof b === "number";
		if (na && nb) return a - b;
		if (na !== nb) return na ? -1 : 1; // what has no figure comes last
		return a < b ? -1 : a > b ? 1 : 0;
	}

	function sortable(table) {
		const heads = [...table.tHead.rows[0].cells];
		heads.forEach((th, column) => {
			const button = document.createElement("button");
			button.type = "button";
			button.append(...th.childNodes);
			th.append(button);
			th.setAttribute("aria-sort", "none");
			button.addEventListener("click", () => {
				const falling = th.getAttribute("aria-sort") === "ascending";
				for (const other of heads) other.setAttribute("aria-sort", "none");
				th.setAttribute("aria-sort", falling ? "descending" : "ascending");
				const body = table.tBodies[0];
				const rows = [...body.rows].map((row) => [key(row.cells[column]), row]);
				rows.sort((a, b) => falling ? compare(b[0], a[0]) : compare(a[0], b[0]));
				body.append(...rows.map((r) => r[1]));
			});
		});
	}

	// Every word must occur somewhere in the row.
	function filterable(input) {
		const table = document.getElementById(input.dataset.filters);
		const count = document.querySelector(`[data-counts="${input.dataset.filters}"]`);
		const rows = [...table.tBodies[0].rows].map((row) => [row, row.textContent.toLowerCase()]);
		const apply = () => {
			const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
			let shown = 0;
			for (const [row, text] of rows) {
				row.hidden = !words.every((w) => text.includes(w));
				if (!row.hidden) shown++;
			}
			count.textContent = `${shown} of ${rows.length} shown`;
		};
		input.addEventListener("input", apply);
		input.closest(".filter").hidden = false;
		apply();
	}

	document.querySelectorAll("table.sortable").forEach(sortable);
	document.querySelectorAll("input[data-filters]").forEach(filterable);
})();
