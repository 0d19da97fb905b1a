package evidence

import (
	"maps"
	"os"
	"path"
	"slices"
	"strings"

	"rollonset/report/archive"
)

// others checks the files outside flight folders, runs, tables and reviews.
func (v *verifier) others() {
	fixed := archive.FixedTexts()
	for _, f := range v.sorted("") {
		top, _, _ := strings.Cut(f, "/")
		switch {
		case fixed[f] != "":
			v.fixed(f, fixed[f])
		case top == "flights":
			v.stray(f)
		case top == "profiles":
			v.profile(f)
		case top == "keys":
			v.lookup(f)
		case top == "runs" && path.Ext(f) == ".json" || top == "tables" || v.chained[f]:
		case path.Ext(f) == ".html" && (top == f || top == "runs"):
			v.out.Pages++
			if err := v.checkPage(f); err != nil {
				v.differ(f, "%v", err)
			}
		default:
			v.note("%s is not checked: it carries no hash", f)
		}
	}
	for _, f := range slices.Sorted(maps.Keys(fixed)) {
		if !v.files[f] {
			v.differ(f, "is missing; `process` writes it anew")
		}
	}
}

// fixed holds a file that is the same in every archive to the text of this
// program, or to what the latest run recorded: that may have been of another
// version.
func (v *verifier) fixed(f, text string) {
	got, err := v.a.HashFile(f)
	if err != nil {
		v.differ(f, "cannot be read: %v", err)
		return
	}
	if got == archive.HashOf([]byte(text)) {
		return
	}
	if n := len(v.runs); n > 0 {
		for _, h := range v.runs[n-1].Fixed {
			if h.File == f && h.SHA256 == got {
				return
			}
		}
	}
	v.differ(f, "is neither the text of this program nor what the latest run recorded; `process` writes it anew")
}

// stray tells of files in a flight folder that no summary knows.
func (v *verifier) stray(f string) {
	if !slices.Contains([]string{archive.SummaryFile, archive.ClipFile, archive.PageFile}, path.Base(f)) {
		v.note("%s is not checked: the program writes no such file", f)
	}
}

// profile checks that a profile has the hash that it is named by.
func (v *verifier) profile(f string) {
	v.out.Profiles++
	hash := strings.TrimSuffix(path.Base(f), path.Ext(f))
	got, err := v.a.HashFile(f)
	switch {
	case err != nil:
		v.differ(f, "cannot be read: %v", err)
	case got != hash:
		v.differ(f, "has the hash %s, its name says %s", got, hash)
	}
}

// lookup checks that a file of keys/ leads to the flight of its key. One that
// is empty, as a crash may leave it, counts for nothing and does no harm.
func (v *verifier) lookup(f string) {
	v.out.Lookups++
	text, err := os.ReadFile(v.a.Path(f))
	key := path.Base(f)
	folder, known := v.keys[key]
	led := strings.TrimSuffix(string(text), "\n")
	switch {
	case err != nil:
		v.differ(f, "cannot be read: %v", err)
	case len(text) == 0:
		v.note("%s is empty: it counts for nothing", f)
	case known && string(text) != folder+"\n":
		v.differ(f, "leads to %q, the flight of that key lies in %s; delete keys/ and run `process`, which makes it anew", led, folder)
	case !known && !v.bad[led]:
		v.differ(f, "leads to %q, which holds no result of that key; delete keys/ and run `process`, which makes it anew", led)
	}
}

// runRecords holds every run record to its own hash.
func (v *verifier) runRecords() {
	for _, f := range v.sorted("runs/") {
		id, isRun := strings.CutSuffix(path.Base(f), ".json")
		if !isRun {
			continue
		}
		v.out.Runs++
		text, err := os.ReadFile(v.a.Path(f))
		if err == nil {
			err = archive.CheckRun(text)
		}
		if err != nil {
			v.differ(f, "%v", err)
			v.note("tables of run %s are not checked: its record differs", id)
			continue
		}
		if r, err := v.a.ReadRun(id); err != nil {
			v.differ(f, "cannot be read: %v", err)
		} else if r.ID != id {
			v.differ(f, "is the record of run %s", r.ID)
		}
	}
}

// tables holds the tables of every sound run record to their hashes, and their
// rows to the summaries.
func (v *verifier) tables() {
	recorded := map[string]bool{}
	for i := range v.runs {
		r := &v.runs[i]
		recorded["run="+r.ID] = true
		differing := map[string]bool{}
		for _, t := range r.Tables {
			v.out.Tables++
			hash, err := v.a.HashFile(t.File)
			switch {
			case err != nil:
				v.differ(t.File, "cannot be read: %v", err)
			case hash != t.SHA256:
				v.differ(t.File, "has the hash %s, runs/%s.json says %s", hash, r.ID, t.SHA256)
			default:
				continue
			}
			differing[t.File] = true
		}
		v.rows(r, differing)
	}
	v.sightings()
	for _, f := range v.sorted("tables/") {
		if f == archive.SightingsPath() {
			continue
		}
		run := path.Base(path.Dir(f))
		if id := strings.TrimPrefix(run, "run="); !recorded[run] && !v.files["runs/"+id+".json"] && !v.chained[f] {
			v.note("%s is not checked: no run record tells of it", f)
		}
	}
}

// sightings holds the table of attempts in several recordings to what the
// other tables give. Where one of those differs it says nothing of its own.
func (v *verifier) sightings() {
	if !v.files[archive.SightingsPath()] {
		return
	}
	v.out.Tables++
	view, err := v.a.View()
	if err != nil {
		v.note("%s is not compared: %v", archive.SightingsPath(), err)
		return
	}
	recorded := ""
	if n := len(v.runs); n > 0 {
		for _, h := range v.runs[n-1].Fixed {
			if h.File == archive.SightingsPath() {
				recorded = h.SHA256
			}
		}
	}
	found, err := view.CheckSightings(recorded)
	if err != nil {
		v.note("%s is not compared: %v", archive.SightingsPath(), err)
		return
	}
	for _, what := range found {
		v.differ(archive.SightingsPath(), "%s; the next run writes it anew", what)
	}
}

// rows compares the rows of the tables of a run with the summaries that are
// still those of that run. Files that differ already are left out.
func (v *verifier) rows(r *archive.Run, differing map[string]bool) {
	if len(r.Tables) == 0 {
		return
	}
	var folders []string
	but := map[string]bool{}
	for _, l := range r.Recordings {
		switch {
		case l.Folder == "":
		case v.bad[l.Folder] || !v.files[path.Join(l.Folder, archive.SummaryFile)] || v.seals[l.Folder].Summary != l.Summary:
			but[l.Key] = true
		default:
			folders = append(folders, l.Folder)
		}
	}
	found, err := v.a.CheckTables(r.ID, v.a.SummariesOf(folders), but)
	if err != nil {
		v.note("tables of run %s are not compared with the summaries: %v", r.ID, err)
		return
	}
	for _, d := range found {
		if !differing[d.File] {
			for _, what := range d.What {
				v.differ(d.File, "%s", what)
			}
		}
	}
}
