package main

import (
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"

	"rollonset/report/archive"
)

// recipeTexts are the SQL blocks of the README: the views, then the recipes.
func recipeTexts(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, m := range regexp.MustCompile("(?s)```sql\n(.*?)```").FindAllSubmatch(text, -1) {
		out = append(out, string(m[1]))
	}
	if len(out) != 11 {
		t.Fatalf("README.md has %d SQL blocks, want the views and ten recipes", len(out))
	}
	return out
}

// recipe is the plain equivalent of a recipe over the summaries: rows of cells.
type recipe func([]archive.Summary) [][]string

// recipes are in the order of the README.
var recipes = []recipe{
	perProfile, worstFindings, coverageRows, rateRows, noWarning, rejectRows, marginRows, lifelessRows, againRows, proofRows,
}

// eachFinding calls do for every finding.
func eachFinding(all []archive.Summary, do func(*archive.Summary, *archive.AttemptSummary, *archive.FindingSummary)) {
	for i := range all {
		for k := range all[i].Attempts {
			a := &all[i].Attempts[k]
			for n := range a.Findings {
				do(&all[i], a, &a.Findings[n])
			}
		}
	}
}

// grouped counts by a key of cells and lets add collect into numbers.
type grouped map[string][]float64

func (g grouped) at(numbers int, cells ...string) []float64 {
	key := strings.Join(cells, "\x00")
	if g[key] == nil {
		g[key] = make([]float64, numbers)
	}
	return g[key]
}

func (g grouped) rows() [][]string {
	var out [][]string
	for _, key := range slices.Sorted(maps.Keys(g)) {
		row := strings.Split(key, "\x00")
		for _, v := range g[key] {
			row = append(row, cellOf(v))
		}
		out = append(out, row)
	}
	return out
}

func cellOf(v float64) string {
	if math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

func maybe(v *float64) string {
	if v == nil {
		return ""
	}
	return cellOf(*v)
}

func sortBy(rows [][]string, columns ...int) [][]string {
	slices.SortFunc(rows, func(x, y []string) int {
		for _, c := range columns {
			if d := strings.Compare(x[c], y[c]); d != 0 {
				return d
			}
		}
		return 0
	})
	return rows
}

func perProfile(all []archive.Summary) [][]string {
	g := grouped{}
	for _, s := range all {
		n := g.at(2, s.Profile.Name, s.Profile.Version, s.Versions.Detection)
		n[0], n[1] = n[0]+1, n[1]+float64(len(s.Attempts))
	}
	return g.rows()
}

func worstFindings(all []archive.Summary) [][]string {
	var rows [][]string
	eachFinding(all, func(s *archive.Summary, a *archive.AttemptSummary, f *archive.FindingSummary) {
		if f.State == "out of limits" && f.Severity == "high" {
			rows = append(rows, []string{s.Flight.Date, s.Flight.Tail, s.Flight.Flight, a.ID, f.Check, maybe(f.Value), f.Unit, maybe(f.WorstMargin)})
		}
	})
	return sortBy(rows, 3, 4)
}

func coverageRows(all []archive.Summary) [][]string {
	g := grouped{}
	eachFinding(all, func(s *archive.Summary, _ *archive.AttemptSummary, f *archive.FindingSummary) {
		n := g.at(2, s.Profile.Name, f.Check)
		if f.State != "cannot be told" {
			n[0]++
		}
		n[1]++
	})
	return g.rows()
}

func rateRows(all []archive.Summary) [][]string {
	g := grouped{}
	eachFinding(all, func(_ *archive.Summary, _ *archive.AttemptSummary, f *archive.FindingSummary) {
		if f.State == "cannot be told" {
			return
		}
		n := g.at(2, f.Check)
		if f.State == "out of limits" {
			n[0]++
		}
		n[1]++
	})
	var rows [][]string
	for _, r := range g.rows() {
		out, _ := strconv.ParseFloat(r[1], 64)
		told, _ := strconv.ParseFloat(r[2], 64)
		rows = append(rows, []string{r[0], cellOf(math.Round(1e6*out/told) / 1e3)})
	}
	return rows
}

func noWarning(all []archive.Summary) [][]string {
	var rows [][]string
	for _, s := range all {
		for _, a := range s.Attempts {
			if a.Warning != nil && a.Warning.Verdict == "condition only" {
				rows = append(rows, []string{s.Flight.Tail, s.Flight.Flight, a.ID, a.Outcome, a.Warning.Reason})
			}
		}
	}
	return sortBy(rows, 2)
}

func rejectRows(all []archive.Summary) [][]string {
	g := grouped{}
	for _, s := range all {
		for _, a := range s.Attempts {
			if a.Reject == nil {
				continue
			}
			fresh := g[a.Reject.Class] == nil
			n := g.at(3, a.Reject.Class)
			if fresh {
				n[1], n[2] = math.Inf(-1), math.Inf(-1)
			}
			n[0]++
			if v := a.Reject.GroundAtCut; v != nil {
				n[1] = max(n[1], v.Value)
			}
			if v := a.Reject.ToStop; v != nil {
				n[2] = max(n[2], *v)
			}
		}
	}
	return g.rows()
}

func marginRows(all []archive.Summary) [][]string {
	g := grouped{}
	eachFinding(all, func(_ *archive.Summary, _ *archive.AttemptSummary, f *archive.FindingSummary) {
		if f.State != "within limits" || f.WorstMargin == nil {
			return
		}
		n := g.at(2, f.Check, f.Unit)
		if n[0] == 0 || *f.WorstMargin < n[1] {
			n[1] = *f.WorstMargin
		}
		n[0]++
	})
	return g.rows()
}

func lifelessRows(all []archive.Summary) [][]string {
	g := grouped{}
	eachFinding(all, func(s *archive.Summary, _ *archive.AttemptSummary, f *archive.FindingSummary) {
		if !f.Life {
			g.at(1, s.Flight.Tail, f.Check, f.LifeWhy)[0]++
		}
	})
	return g.rows()
}

func againRows(all []archive.Summary) [][]string {
	var rows [][]string
	for _, s := range all {
		for _, a := range s.Attempts {
			if a.Reject != nil && a.NextMinutes != nil {
				rows = append(rows, []string{s.Flight.Tail, a.ID, a.Reject.Class, maybe(a.NextMinutes)})
			}
		}
	}
	return sortBy(rows, 1)
}

func proofRows(all []archive.Summary) [][]string {
	var rows [][]string
	for _, s := range all {
		for _, a := range s.Attempts {
			if len(a.Events) > 0 {
				rows = append(rows, []string{a.ID, s.Recording.File, s.Recording.SHA256, s.Profile.SHA256, s.Versions.Detection, s.Clip.SHA256, s.Flight.Folder})
			}
		}
	}
	return sortBy(rows, 0)
}

// recipeArchive is the sample night, processed and partly judged again, so that
// the views have something to leave out; and the summaries that they keep.
func recipeArchive(t *testing.T) (string, []archive.Summary) {
	t.Helper()
	here := t.TempDir()
	dir := filepath.Join(here, "archive")
	fleet := filepath.Join(here, "fleet")
	if err := os.CopyFS(fleet, os.DirFS("../../sampledata/fleet")); err != nil {
		t.Fatal(err)
	}
	process := func() {
		command(t, "process", "../../sampledata/night/recordings", "--profiles", fleet, "--flights", "../../sampledata/night/flights.csv", "--archive", dir, "--pages", "none")
	}
	process()
	// A run that starts in the same second is told from the first by its ID
	// alone, so the first one is put a day earlier.
	a, err := archive.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	runs, err := a.RunsByStart()
	if err != nil {
		t.Fatal(err)
	}
	runs[0].Started = "2001-01-01T00:00:00Z"
	if err := a.WriteRun(runs[0]); err != nil {
		t.Fatal(err)
	}
	qx40 := filepath.Join(fleet, "qx40.yaml")
	text, err := os.ReadFile(qx40)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(qx40, append(text, "# the same limits in another file\n"...), 0o640); err != nil {
		t.Fatal(err)
	}
	process()
	folders, err := a.LatestFolders()
	if err != nil {
		t.Fatal(err)
	}
	var all []archive.Summary
	for s, err := range a.SummariesOf(folders) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
	if len(all) != 46 {
		t.Fatalf("%d results are the latest, want one for each recording", len(all))
	}
	return here, all
}

// TestRecipes runs the recipes of the README in DuckDB, where there is one, and
// compares each with its plain equivalent over the summaries.
func TestRecipes(t *testing.T) {
	texts := recipeTexts(t)
	duck, err := exec.LookPath("duckdb")
	if err != nil {
		t.Skip("there is no command duckdb on the PATH; TestRecipesNameColumns checks the columns alone")
	}
	here, all := recipeArchive(t)
	for i, want := range recipes {
		cmd := exec.Command(duck, "-csv", "-c", texts[0]+texts[i+1])
		cmd.Dir = here
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Errorf("recipe %d: %v\n%s", i+1, err, out)
			continue
		}
		rows, err := csv.NewReader(strings.NewReader(string(out))).ReadAll()
		if err != nil {
			t.Errorf("recipe %d: %v\n%s", i+1, err, out)
			continue
		}
		if diff := cmp.Diff(numbersAlike(want(all)), numbersAlike(rows[1:])); diff != "" {
			t.Errorf("recipe %d (-plain +sql):\n%s", i+1, diff)
		}
	}
}

// numbersAlike writes every cell that is a number in one way.
func numbersAlike(rows [][]string) []string {
	var out []string
	for _, row := range rows {
		for i, c := range row {
			if v, err := strconv.ParseFloat(c, 64); err == nil && len(c) < 20 {
				row[i] = fmt.Sprintf("%.6g", v)
			}
		}
		out = append(out, strings.Join(row, " | "))
	}
	return out
}

// sqlWords are the words of the recipes that are no columns.
var sqlWords = strings.Fields(`select from where group by all order as and not null is join using count sum min max round filter
	create view semi anti again on true varchar arg_max read_parquet read_json union_by_name hive_types columns latest id started_utc run
	recordings attempts findings told due per_thousand rejects fastest_cut_kt longest_m takeoffs closest`)

// TestRecipesNameColumns: every word of a recipe that is none of SQL or its own
// is a column of the tables as they lie in the archive, and each recipe has an
// answer on the sample night.
func TestRecipesNameColumns(t *testing.T) {
	here, all := recipeArchive(t)
	columns := map[string]bool{}
	for _, table := range archive.Tables() {
		parts, err := filepath.Glob(filepath.Join(here, "archive", "tables", table, "*", "*.parquet"))
		if err != nil || len(parts) != 2 {
			t.Fatalf("parts of %s: %v, %v", table, parts, err)
		}
		for _, part := range parts {
			for _, c := range columnsOf(t, part) {
				columns[c] = true
			}
		}
	}
	for _, c := range columnsOf(t, filepath.Join(here, "archive", filepath.FromSlash(archive.SightingsPath()))) {
		columns[c] = true
	}
	quoted := regexp.MustCompile(`'[^']*'`)
	for i, text := range recipeTexts(t) {
		used := 0
		for _, word := range regexp.MustCompile(`[a-zA-Z_][a-zA-Z_0-9]*`).FindAllString(quoted.ReplaceAllString(text, ""), -1) {
			switch {
			case columns[word]:
				used++
			case slices.Contains(sqlWords, strings.ToLower(word)):
			default:
				t.Errorf("block %d: %q is no column of the tables", i, word)
			}
		}
		if used == 0 {
			t.Errorf("block %d names no column", i)
		}
	}
	for i, r := range recipes {
		if rows := r(all); len(rows) == 0 {
			t.Errorf("recipe %d has no answer on the sample night", i+1)
		}
	}
}

func columnsOf(t *testing.T, file string) []string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	p, err := parquet.OpenFile(f, info.Size())
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, c := range p.Schema().Columns() {
		out = append(out, c[0])
	}
	return out
}
