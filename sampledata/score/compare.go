package score

import (
	"math"
	"slices"
	"strings"

	"rollonset/report/archive"
	"rollonset/sampledata/truth"
)

// Compare compares the summaries of an archive with the truth. Both may come
// in any order; the report is in the order of the truth.
func Compare(truths []truth.Attempt, summaries []archive.Summary) Report {
	c := &comparison{kinds: map[string]*Kind{}, errors: map[string]*errorList{}, scenarios: map[string]*Scenario{}}
	byFile := map[string]*archive.Summary{}
	for i := range summaries {
		byFile[summaries[i].Recording.File] = &summaries[i]
	}
	known := map[string]bool{}
	for from := 0; from < len(truths); {
		to := from
		for to < len(truths) && truths[to].File == truths[from].File {
			to++
		}
		name := truths[from].File
		known[name] = true
		c.out.Files++
		c.file(truths[from:to], byFile[name])
		from = to
	}
	for i := range summaries {
		if !known[summaries[i].Recording.File] {
			c.out.Unknown++
		}
	}
	c.settle()
	return c.out
}

// comparison collects the report.
type comparison struct {
	out       Report
	kinds     map[string]*Kind
	errors    map[string]*errorList
	scenarios map[string]*Scenario

	recording string // base name of the one that is compared
	scene     string
	wrong     bool // the attempt at hand has a difference
}

// differ records a difference.
func (c *comparison) differ(attempt int, second float64, what, want, got string) {
	if math.IsNaN(second) {
		second = 0
	}
	c.wrong = true
	c.out.Differences = append(c.out.Differences, Difference{
		File: c.recording, Attempt: attempt, Second: second, What: what, Want: want, Got: got, Scenario: c.scene,
	})
}

func (c *comparison) kind(name string) *Kind {
	k := c.kinds[name]
	if k == nil {
		k = &Kind{Name: name}
		c.kinds[name] = k
	}
	return k
}

// close ends an attempt, or a file without one, in the account of scenarios.
func (c *comparison) close() {
	s := c.scenarios[c.scene]
	if s == nil {
		s = &Scenario{Name: c.scene}
		c.scenarios[c.scene] = s
	}
	s.Attempts++
	if !c.wrong {
		s.Right++
	}
	c.wrong = false
}

// file compares one recording. s is nil when it has no summary.
func (c *comparison) file(rows []truth.Attempt, s *archive.Summary) {
	c.recording, c.scene, c.wrong = rows[0].File, rows[0].Scenario, false
	if s == nil {
		c.out.Unread++
		s = &archive.Summary{}
	}
	matched := match(rows, s.Attempts)
	c.invented(rows, s.Attempts, matched)
	for i := range rows {
		row := &rows[i]
		c.scene = row.Scenario
		switch {
		case row.Number == 0:
		case row.Optional && matched[i] < 0:
			c.out.Optional++
			c.kind("attempt").Open++
			continue
		case matched[i] < 0:
			c.out.Attempts++
			c.out.Missed++
			c.kind("attempt").Misses++
			c.differ(row.Number, row.From(), "attempt", row.Outcome, "not found")
		default:
			c.found(row, &s.Attempts[matched[i]])
		}
		if i == 0 {
			c.lookAlikes(row, s.LookAlike)
		}
		c.close()
	}
}

// invented reports found attempts that match no row.
func (c *comparison) invented(rows []truth.Attempt, found []archive.AttemptSummary, matched []int) {
	for j := range found {
		if slices.Contains(matched, j) {
			continue
		}
		c.out.Invented++
		c.kind("attempt").FalseAlarms++
		from, _ := extent(&found[j])
		c.differ(0, from, "attempt", "none", found[j].Outcome)
	}
}

// found compares one matched attempt.
func (c *comparison) found(row *truth.Attempt, got *archive.AttemptSummary) {
	if row.Optional {
		c.out.Optional++
	} else {
		c.out.Attempts++
		c.out.Found++
	}
	c.kind("attempt").Hits++
	c.outcome(row, got)
	c.measure(row, got)
	if row.Outcome == truth.TouchAndGo {
		return // nothing more is judged on it
	}
	c.findings(row, got)
	c.warning(row, got)
	c.reject(row, got)
}

func (c *comparison) outcome(row *truth.Attempt, got *archive.AttemptSummary) {
	k := c.kind("outcome " + row.Outcome)
	if got.Outcome != row.Outcome {
		k.Misses++
		c.kind("outcome "+got.Outcome).FalseAlarms++
		c.differ(row.Number, row.From(), "outcome", row.Outcome, got.Outcome)
		return
	}
	k.Hits++
	if got.Rolling != row.Rolling && !math.IsNaN(row.RollStart) {
		c.kind("rolling start").count(row.Rolling, got.Rolling)
		c.differ(row.Number, row.From(), "rolling start", yes(row.Rolling), yes(got.Rolling))
		return
	}
	c.kind("rolling start").count(row.Rolling, got.Rolling)
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// count adds a two-valued statement.
func (k *Kind) count(want, got bool) {
	switch {
	case want && got:
		k.Hits++
	case want:
		k.Misses++
	case got:
		k.FalseAlarms++
	default:
		k.Quiet++
	}
}

// The words of a finding's state.
const (
	within  = "within limits"
	outside = "out of limits"
	untold  = "cannot be told"
)

// findings compares every check, those of the truth that the summary lacks
// included.
func (c *comparison) findings(row *truth.Attempt, got *archive.AttemptSummary) {
	seen := map[string]bool{}
	for i := range got.Findings {
		f := &got.Findings[i]
		seen[f.Check] = true
		open := slices.Contains(row.Open, f.Check)
		if open && !slices.Contains(row.Out, f.Check) {
			c.kind("check "+f.Check).Open++
			continue
		}
		want := state(row, f.Check)
		if !c.state("check "+f.Check, row, want, f.State) {
			continue
		}
		if open {
			continue // certainly out, but no sample tells whether at the onset already
		}
		atOnset := slices.Contains(row.OutAtOnset, f.Check)
		if want == outside && f.AtOnset != untold && atOnset != (f.AtOnset == outside) {
			c.kind(f.Check+" at onset").count(atOnset, f.AtOnset == outside)
			c.differ(row.Number, row.Onset, f.Check+" at onset", onsetWords(atOnset), f.AtOnset)
		}
	}
	for _, name := range slices.Concat(row.Out, row.Untold) {
		if !seen[name] {
			c.kind("check "+name).Misses++
			c.differ(row.Number, row.Onset, "check "+name, state(row, name), "no finding")
		}
	}
}

func onsetWords(out bool) string {
	if out {
		return outside
	}
	return within
}

func state(row *truth.Attempt, check string) string {
	switch {
	case slices.Contains(row.Out, check):
		return outside
	case slices.Contains(row.Untold, check):
		return untold
	}
	return within
}

// state compares one three-valued statement and says whether it is right.
func (c *comparison) state(what string, row *truth.Attempt, want, got string) bool {
	k := c.kind(what)
	right := want == got
	switch {
	case right && want == outside:
		k.Hits++
	case right && want == untold:
		k.RightUntold++
	case right:
		k.Quiet++
	case got == untold:
		k.WrongUntold++
	case want == untold:
		k.Guessed++
	case want == outside:
		k.Misses++
	default:
		k.FalseAlarms++
	}
	if !right {
		c.differ(row.Number, row.Onset, what, want, got)
	}
	return right
}

// warning compares the cross-check. A verdict other than "neither" is
// something to say.
func (c *comparison) warning(row *truth.Attempt, got *archive.AttemptSummary) {
	k := c.kind("warning")
	verdict := "no verdict"
	if got.Warning != nil {
		verdict = got.Warning.Verdict
	}
	switch {
	case row.Warning == "":
		k.Open++
		return
	case row.Warning == verdict && verdict == truth.WarnUnknown:
		k.RightUntold++
	case row.Warning == verdict && verdict == truth.WarnNeither:
		k.Quiet++
	case row.Warning == verdict:
		k.Hits++
	case verdict == truth.WarnUnknown:
		k.WrongUntold++
	case row.Warning == truth.WarnUnknown:
		k.Guessed++
	case row.Warning == truth.WarnNeither:
		k.FalseAlarms++
	default:
		k.Misses++
	}
	if row.Warning != verdict {
		c.differ(row.Number, row.Onset, "warning", row.Warning, verdict)
	}
}

// reject compares class, order and the relation to V1.
func (c *comparison) reject(row *truth.Attempt, got *archive.AttemptSummary) {
	c.kind("reject").count(row.RejectClass != "", got.Reject != nil)
	switch {
	case row.RejectClass == "" && got.Reject == nil:
		return
	case got.Reject == nil:
		c.differ(row.Number, row.ThrustCut, "reject", row.RejectClass, "none")
		return
	case row.RejectClass == "":
		c.differ(row.Number, row.From(), "reject", "none", got.Reject.Class)
		return
	}
	either := row.RejectClass == truth.EitherClass && (got.Reject.Class == truth.LowSpeed || got.Reject.Class == truth.HighSpeed)
	c.word("reject class", row, row.RejectClass, got.Reject.Class, either)
	unresolved := got.Reject.AgainstV1 == "not resolvable"
	c.word("against V1", row, row.AgainstV1, got.Reject.AgainstV1, unresolved)
	by := ""
	if got.Reject.FirstAction != nil {
		by = got.Reject.FirstAction.What
	}
	c.word("first action by", row, row.FirstActionBy, by, got.Reject.Order != "")
}

// word compares one word; open says that the summary rightly or wrongly left
// the order of two events open, because their brackets overlap.
func (c *comparison) word(what string, row *truth.Attempt, want, got string, open bool) {
	k := c.kind(what)
	switch {
	case want == "" || open:
		k.Open++
	case want == got:
		k.Hits++
	default:
		k.Misses++
		c.differ(row.Number, row.FirstAction, what, want, got)
	}
}

// lookAlikes compares by overlap and kind. One that is too short to persist
// need not be listed.
func (c *comparison) lookAlikes(row *truth.Attempt, got []archive.LookAlike) {
	used := make([]bool, len(got))
	for _, want := range row.LookAlikes {
		k := c.kind("look-alike " + want.Kind)
		hit := ""
		for j, g := range got {
			if !used[j] && g.From <= want.To+slack && g.To >= want.From-slack {
				used[j], hit = true, g.Kind
				break
			}
		}
		switch {
		case hit == want.Kind:
			k.Hits++
		case want.Kind == truth.TooShort:
			k.Open++
		default:
			k.Misses++
			c.differ(0, want.From, "look-alike", want.Kind, strings.TrimSpace(hit+" "))
		}
	}
	for j, g := range got {
		if !used[j] {
			c.kind("look-alike "+g.Kind).FalseAlarms++
			c.differ(0, g.From, "look-alike", "none", g.Kind)
		}
	}
}
