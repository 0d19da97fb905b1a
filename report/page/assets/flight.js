"use strict";
// The cursor over the traces of every attempt. It reads the embedded samples,
// never the picture: what it shows is a sample that was recorded.
(() => {
	const minus = "\u2212";

	// Same rule as Number in format.go: no negative zero, a true minus sign.
	function number(v, decimals) {
		const s = Math.abs(v).toFixed(decimals);
		return v < 0 && /[1-9]/.test(s) ? minus + s : s;
	}

	function signed(v, decimals) {
		const s = number(v, decimals);
		return v > 0 && /[1-9]/.test(s) ? "+" + s : s;
	}

	// Times come as the first one and runs of equal steps.
	function times(runs) {
		const out = runs.length ? [runs[0]] : [];
		for (let i = 1; i < runs.length; i += 2) {
			for (let n = 0; n < runs[i + 1]; n++) out.push(out[out.length - 1] + runs[i]);
		}
		return out;
	}

	// How many of the sorted times are at or before t.
	function upTo(sorted, t) {
		let lo = 0, hi = sorted.length;
		while (lo < hi) {
			const mid = (lo + hi) >> 1;
			if (sorted[mid] <= t) lo = mid + 1; else hi = mid;
		}
		return lo;
	}

	function maskOf(series, i) {
		for (let k = 0; k < series.m.length; k += 3) {
			if (i >= series.m[k] && i < series.m[k + 1]) return series.m[k + 2];
		}
		return "";
	}

	// The sample that stands at t: the last one at or before it, as long as a
	// sample may stand. Nothing is interpolated.
	function reading(series, t, zero) {
		const i = upTo(series.times, t) - 1;
		if (i < 0 || t - series.times[i] > series.age) return ["no sample", ""];
		const at = signed((series.times[i] - zero) / 1e9, 2), mask = maskOf(series, i), v = series.v[i];
		if (mask) return ["masked: " + mask, at];
		if (series.s) return [series.s[v] ?? number(v, 0), at];
		return [number(v, series.d) + (series.u ? " " + series.u : ""), at];
	}

	function cell(text) {
		const s = String(text);
		return /[",\n\r]/.test(s) ? '"' + s.replaceAll('"', '""') + '"' : s;
	}

	// A spreadsheet would run a text that begins like a formula.
	function words(text) {
		return cell(/^[=+\-@\t\r]/.test(text) ? "'" + text : text);
	}

	function csv(data) {
		const lines = ["parameter,unit,seconds_from_onset,utc,value,state,masked"];
		for (const s of data.series) {
			for (let i = 0; i < s.times.length; i++) {
				const rel = (s.times[i] - data.zero) / 1e9;
				const utc = data.utc === null ? "" : new Date(data.utc + rel * 1000).toISOString();
				lines.push([words(s.p), words(s.u), rel, utc, s.v[i] ?? "", words(s.s ? s.s[s.v[i]] ?? "" : ""), words(maskOf(s, i))].join(","));
			}
		}
		return lines.join("\r\n") + "\r\n";
	}

	function start(root) {
		const data = JSON.parse(root.querySelector("script[data-samples]").textContent);
		for (const s of data.series) s.times = times(s.t);
		const steps = [...new Set(data.series.flatMap((s) => s.times))].sort((a, b) => a - b);
		const marks = data.marks.map((m) => m[0]).sort((a, b) => a - b);
		const figures = [...root.querySelectorAll("figure[data-view]")];
		const output = root.querySelector("[data-at]");
		const rows = new Map([...root.querySelectorAll("td[data-series]")].map((td) => [td.dataset.series, td]));
		const zoom = root.querySelector("[data-zoom]");
		let cursor = data.zero, view = "roll";

		const range = () => (view === "roll" ? data.roll : [data.from, data.to]);

		// With follow, a picture wider than its box is moved along.
		function show(t, follow = true) {
			const [from, to] = range();
			cursor = Math.min(Math.max(t, from), to);
			const rel = (cursor - data.zero) / 1e9;
			let text = signed(rel, 2) + " s from onset";
			if (data.utc !== null) text += ", " + new Date(data.utc + rel * 1000).toISOString().slice(11, 23) + " UTC";
			output.textContent = text;
			for (const s of data.series) {
				const td = rows.get(s.p), [value, at] = reading(s, cursor, data.zero);
				if (td.textContent !== value) td.textContent = value;
				td.nextElementSibling.textContent = at;
			}
			for (const svg of root.querySelectorAll("svg.strips")) place(svg, rel, text, follow);
		}

		function place(svg, rel, text, follow) {
			const d = svg.dataset, x = +d.lo + (rel - d.from) / (d.to - d.from) * (d.hi - d.lo);
			let line = svg.querySelector(".cursor");
			if (!line) {
				line = document.createElementNS("http://www.w3.org/2000/svg", "line");
				line.setAttribute("class", "cursor");
				line.setAttribute("y1", d.top);
				line.setAttribute("y2", d.bottom);
				svg.append(line);
			}
			line.setAttribute("x1", x);
			line.setAttribute("x2", x);
			line.setAttribute("visibility", x < +d.lo || x > +d.hi ? "hidden" : "visible");
			const box = svg.parentElement, px = x * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
			if (follow && (px < box.scrollLeft + 40 || px > box.scrollLeft + box.clientWidth - 40)) box.scrollLeft = px - box.clientWidth / 2;
			svg.setAttribute("aria-valuenow", rel.toFixed(2));
			svg.setAttribute("aria-valuetext", text);
		}

		function look(next) {
			view = next;
			for (const f of figures) f.hidden = f.dataset.view !== view;
			zoom.setAttribute("aria-pressed", String(view === "roll"));
			show(cursor);
			for (const f of figures) if (!f.hidden) uncut(f.querySelector("svg"));
		}

		// On a narrow screen the picture is moved so that its right edge cuts
		// no name of an instant, as far as the cursor stays in sight.
		function uncut(svg) {
			const box = svg.parentElement, edge = box.getBoundingClientRect();
			for (let i = 0; i < 3; i++) {
				const ends = [...svg.querySelectorAll(".rule-label")].map((l) => l.getBoundingClientRect()).filter((r) => r.left < edge.right && r.right > edge.right).map((r) => r.right - edge.right + 4);
				const over = Math.max(0, ...ends);
				if (over === 0 || svg.querySelector(".cursor").getBoundingClientRect().left - over < edge.left + 4) return;
				box.scrollLeft += over;
			}
		}

		function toggle() {
			const inPicture = figures.some((f) => f.contains(document.activeElement));
			look(view === "roll" ? "whole" : "roll");
			if (inPicture) root.querySelector("figure:not([hidden]) svg").focus();
		}

		const later = (sorted) => sorted[upTo(sorted, cursor)] ?? range()[1];
		const earlier = (sorted) => {
			let i = upTo(sorted, cursor) - 1;
			if (sorted[i] === cursor) i--;
			return sorted[i] ?? range()[0];
		};
		const keys = {
			ArrowRight: () => show(later(steps)), ArrowLeft: () => show(earlier(steps)),
			PageUp: () => show(cursor + 5e9), PageDown: () => show(cursor - 5e9),
			Home: () => show(range()[0]), End: () => show(range()[1]),
			n: () => show(later(marks)), p: () => show(earlier(marks)), z: toggle,
		};

		for (const svg of root.querySelectorAll("svg.strips")) {
			svg.setAttribute("role", "slider");
			svg.setAttribute("tabindex", "0");
			svg.setAttribute("aria-valuemin", svg.dataset.from);
			svg.setAttribute("aria-valuemax", svg.dataset.to);
			svg.addEventListener("keydown", (e) => {
				const act = keys[e.key.length === 1 ? e.key.toLowerCase() : e.key];
				if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
				e.preventDefault();
				act();
			});
			const point = (e) => {
				const box = svg.getBoundingClientRect(), d = svg.dataset;
				const x = (e.clientX - box.left) / box.width * svg.viewBox.baseVal.width;
				const rel = +d.from + (x - d.lo) / (d.hi - d.lo) * (d.to - d.from);
				show(data.zero + rel * 1e9, false);
			};
			svg.addEventListener("pointermove", point);
			svg.addEventListener("pointerdown", point);
		}
		zoom.addEventListener("click", toggle);
		root.querySelector("[data-csv]").addEventListener("click", () => {
			const link = document.createElement("a");
			link.href = URL.createObjectURL(new Blob([csv(data)], { type: "text/csv" }));
			link.download = "samples-" + data.id + ".csv";
			link.click();
			URL.revokeObjectURL(link.href);
		});
		root.querySelector("[data-live]").setAttribute("aria-live", "polite");
		root.querySelector(".controls").hidden = false;
		look("roll");
	}

	for (const root of document.querySelectorAll("[data-traces]")) start(root);
})();
