"use strict";
// Saving a table as CSV, for whoever wants to draw the figures again.
(() => {
	const quote = (s) => /[",\n]/.test(s) ? `"${s.replaceAll('"', '""')}"` : s;

	function lines(table) {
		const words = (cell) => {
			const copy = cell.cloneNode(true);
			copy.querySelectorAll(".sub").forEach((s) => s.prepend(" "));
			return quote(copy.textContent.trim().replaceAll("\u2212", "-"));
		};
		return [...table.rows].filter((r) => !r.hidden).map((r) => [...r.cells].map(words).join(",")).join("\r\n") + "\r\n";
	}

	for (const button of document.querySelectorAll("[data-save]")) {
		button.addEventListener("click", () => {
			const link = document.createElement("a");
			link.href = URL.createObjectURL(new Blob([lines(document.getElementById(button.dataset.save))], { type: "text/csv" }));
			link.download = button.dataset.save + ".csv";
			link.click();
			URL.revokeObjectURL(link.href);
		});
		button.closest(".controls").hidden = false;
	}
})();
