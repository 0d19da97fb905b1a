package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Test vectors of FIPS 180-4, SHA-256, as computed with the standard library
// and equal to those printed for "abc", the 448-bit and the 896-bit message
// and a million times "a"; the others lie at the edges of a block.
func TestHashOfPublishedVectors(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
		{"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
		{"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
		{
			"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",
			"cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1",
		},
		{strings.Repeat("a", 1_000_000), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
		{strings.Repeat("a", 55), "9f4390f8d30c2dd92ec9f095b65e2b9ae9b0a925a5258e241c9f1e910f734318"},
		{strings.Repeat("a", 56), "b35439a4ac6f0948b6d6f9e3c6af0f5f590ce20f1bde7090ef7970686ec6738a"},
		{strings.Repeat("a", 63), "7d3e74a05d7db15bce4ad9ec0658ea98e3f06eeecf16b4c6fff2da457ddc2f34"},
		{strings.Repeat("a", 64), "ffe054fe7ae0cb6dc65c3af9b61d5209f439851db43d0ba5997337df154668eb"},
		{strings.Repeat("a", 65), "635361c48bb9eab14198e76ea8ab7f1a41685d6ad62aa9146d301d4f17eb0ae0"},
	} {
		if got := HashOf([]byte(c.text)); got != c.want {
			t.Errorf("hash of %d bytes: %s, want %s", len(c.text), got, c.want)
		}
	}
}

func decision(n int) Review {
	return Review{
		Schema: chainSchema, Time: "2031-04-01T08:00:00Z", Decision: Decisions()[n%3], Reason: fmt.Sprintf("reason %d <&>", n), Role: "analyst", Event: "0123456789ab-1",
		Kind: "configuration", Check: "trim", Severity: "high",
		EventPlace: EventPlace{Tail: "ZZ-A01", Recording: strings.Repeat("0", 64), At: 100, UTC: "2031-03-07T04:11:40Z"},
	}
}

// chainOf is the text of a chain of n decisions.
func chainOf(t interface{ Fatal(...any) }, n int) []byte {
	var entries []Review
	for i := range n {
		entries = append(entries, decision(i))
	}
	text, _, err := ParseReviews(nil).extend("", anys(entries))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// Every line carries the hash of the line before it, and its own.
func TestReviewChain(t *testing.T) {
	a := create(t)
	if err := a.AddReviews([]Review{decision(0), decision(1)}); err != nil {
		t.Fatal(err)
	}
	if err := a.AddReviews([]Review{decision(2)}); err != nil {
		t.Fatal(err)
	}
	text := content(t, a.Path(ReviewsFile))
	if want := string(chainOf(t, 3)); text != want {
		t.Errorf("two writes make another chain than one:\n%s", cmp.Diff(want, text))
	}
	r, err := a.Reviews()
	if err != nil || len(r.Lines) != 3 || r.Whole() != nil || r.Torn || len(r.Notes) > 0 {
		t.Fatalf("%+v, %v", r, err)
	}
	previous := HashOf(nil)
	for i, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
		if r.Lines[i].Previous != previous {
			t.Errorf("line %d carries %s, want %s", i+1, r.Lines[i].Previous, previous)
		}
		previous = HashOf([]byte(line))
		if !r.Holds(ChainHead{i + 1, previous}) || r.Holds(ChainHead{i + 1, HashOf(nil)}) {
			t.Errorf("line %d: the chain does not tell its own head", i+1)
		}
	}
	if r.Head != (ChainHead{3, previous}) || r.Holds(ChainHead{4, previous}) || !r.Holds(ChainHead{}) {
		t.Errorf("head %+v", r.Head)
	}
}

// Any changed byte, any line taken out, put twice or exchanged is found.
func TestReviewChainTellsEveryChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 5).Draw(t, "lines")
		text := chainOf(t, n)
		lines := bytes.SplitAfter(text, []byte("\n"))[:n]
		k := rapid.IntRange(0, n-1).Draw(t, "line")
		var changed []byte
		switch rapid.SampledFrom([]string{"byte", "out", "twice", "exchanged"}).Draw(t, "change") {
		case "byte":
			changed = bytes.Clone(text)
			changed[rapid.IntRange(0, len(text)-1).Draw(t, "at")] ^= byte(rapid.IntRange(1, 255).Draw(t, "by"))
		case "out":
			if k == n-1 {
				k = 0 // that the end is cut off, only a run record tells
			}
			changed = bytes.Join(slices.Delete(slices.Clone(lines), k, k+1), nil)
		case "twice":
			changed = bytes.Join(slices.Insert(slices.Clone(lines), k, lines[k]), nil)
		default:
			other := slices.Clone(lines)
			other[k], other[(k+1)%n] = other[(k+1)%n], other[k]
			changed = bytes.Join(other, nil)
		}
		if r := ParseReviews(changed); r.Whole() == nil && !r.Torn {
			t.Fatalf("not found in %d lines", n)
		}
	})
}

// A writer that is killed at any byte loses the line that it was writing and
// nothing else; the next one sets the rest aside, where it stays in the chain.
func TestReviewCutOffAnywhere(t *testing.T) {
	whole := chainOf(t, 3)
	start := len(chainOf(t, 2))
	for cut := start; cut <= len(whole); cut++ {
		a := create(t)
		if err := os.WriteFile(a.Path(ReviewsFile), whole[:cut], 0o640); err != nil {
			t.Fatal(err)
		}
		before, err := a.Reviews()
		if err != nil || before.Whole() != nil || len(before.Lines) < 2 {
			t.Fatalf("cut at %d: %+v, %v", cut, before, err)
		}
		if torn := cut > start && cut < len(whole)-1; before.Torn != torn {
			t.Fatalf("cut at %d: torn %v", cut, before.Torn)
		}
		if err := a.AddReviews([]Review{decision(7)}); err != nil {
			t.Fatal(err)
		}
		text := content(t, a.Path(ReviewsFile))
		if !strings.HasPrefix(text, string(whole[:cut])) {
			t.Fatalf("cut at %d: what was there is gone", cut)
		}
		after, err := a.Reviews()
		if err != nil || after.Whole() != nil || after.Torn || after.Lines[len(after.Lines)-1].Reason != decision(7).Reason {
			t.Fatalf("cut at %d, then another: %+v, %v", cut, after, err)
		}
		if len(after.Lines) != len(before.Lines)+1 || (len(after.Notes) > 0) != before.Torn {
			t.Fatalf("cut at %d: %d decisions and notes %q", cut, len(after.Lines), after.Notes)
		}
		if before.Torn {
			// What was set aside is held by the chain like any line.
			spoiled := strings.Replace(text, string(whole[start:cut]), "x"+string(whole[start+1:cut]), 1)
			if ParseReviews([]byte(spoiled)).Whole() == nil {
				t.Fatalf("cut at %d: a change of what was set aside is not found", cut)
			}
		}
	}
}

func TestReviewRefused(t *testing.T) {
	a := create(t)
	for name, spoil := range map[string]func(*Review){
		"is no decision":      func(r *Review) { r.Decision = "fine" },
		"a reason is missing": func(r *Review) { r.Reason = " \t" },
		"longer than 2000":    func(r *Review) { r.Reason = strings.Repeat("x", 2001) },
		"is not UTF-8":        func(r *Review) { r.Role = "\xff" },
	} {
		e := decision(0)
		spoil(&e)
		if err := a.AddReviews([]Review{decision(1), e}); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := os.Stat(a.Path(ReviewsFile)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("something was written: %v", err)
	}
	if err := os.WriteFile(a.Path(ReviewsFile), []byte("not a review\n"), 0o640); err != nil {
		t.Fatal(err)
	}
	if err := a.AddReviews([]Review{decision(1)}); err == nil || !strings.Contains(err.Error(), "line 1") {
		t.Errorf("added to a broken chain: %v", err)
	}
}

// An event is known again by aircraft, instant and check, not by its key.
func TestReviewsFollowTheEvent(t *testing.T) {
	first, second := decision(0), decision(1) // valid, then nuisance
	text, _, err := ParseReviews(nil).extend("", []any{first, second})
	if err != nil {
		t.Fatal(err)
	}
	r := ParseReviews(text)
	at := first.EventPlace
	for name, c := range map[string]struct {
		place       EventPlace
		kind, check string
		want        string
	}{
		"the same":                     {at, "configuration", "trim", NuisanceEvent},
		"another check":                {at, "configuration", "slats", ""},
		"another kind":                 {at, "warning", "trim", ""},
		"1.9 s later":                  {EventPlace{at.Tail, at.Recording, at.At + 1.9, "2031-03-07T04:11:41.9Z"}, "configuration", "trim", NuisanceEvent},
		"2.1 s later":                  {EventPlace{at.Tail, at.Recording, at.At + 2.1, "2031-03-07T04:11:42.1Z"}, "configuration", "trim", ""},
		"another recording of it":      {EventPlace{at.Tail, strings.Repeat("1", 64), 7, "2031-03-07T04:11:39Z"}, "configuration", "trim", NuisanceEvent},
		"another aircraft":             {EventPlace{"ZZ-B02", strings.Repeat("1", 64), 100, at.UTC}, "configuration", "trim", ""},
		"no date, the same bytes":      {EventPlace{"", at.Recording, at.At, ""}, "configuration", "trim", NuisanceEvent},
		"no date, another recording":   {EventPlace{at.Tail, strings.Repeat("1", 64), at.At, ""}, "configuration", "trim", ""},
		"the same bytes, another time": {EventPlace{at.Tail, at.Recording, 900, "2031-03-07T04:25:00Z"}, "configuration", "trim", ""},
	} {
		if got := r.Decision(c.place, c.kind, c.check); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
	if all := r.Of(at, "configuration", "trim"); len(all) != 2 || all[0].Decision != ValidEvent {
		t.Errorf("decisions %+v", all)
	}
}

// A reject whose class other limits change is the same event.
func TestReviewOfARejectOutlivesItsClass(t *testing.T) {
	e := decision(0)
	e.Kind, e.Check = "reject", "low-speed"
	text, _, err := ParseReviews(nil).extend("", []any{e})
	if err != nil {
		t.Fatal(err)
	}
	if got := ParseReviews(text).Decision(e.EventPlace, "reject", "high-speed"); got != ValidEvent {
		t.Errorf("decision %q", got)
	}
}

func TestAgeing(t *testing.T) {
	var events []ListedEvent
	for _, e := range []struct {
		severity, date, decision string
	}{
		{"high", "2031-04-01", ""},
		{"high", "2031-03-25", ""},
		{"high", "2031-03-24", ""},
		{"high", "2030-01-01", ""},
		{"high", "2031-01-01", ValidEvent},
		{"medium", "", ""},
		{"low", "2031-01-01", ""},
		{"low", "2030-12-31", ""},
	} {
		l := ListedEvent{EventSummary: EventSummary{Severity: e.severity}, Flight: &Flight{Date: e.date}, Attempt: &AttemptSummary{ID: e.date}}
		if e.decision != "" {
			l.Reviews = []Review{{Decision: e.decision}}
		}
		events = append(events, l)
	}
	var got []string
	for _, g := range AgeingOf(events, time.Date(2031, 4, 1, 0, 0, 0, 0, time.UTC)) {
		oldest := ""
		if g.Oldest != nil {
			oldest = g.Oldest.Attempt.ID
		}
		got = append(got, fmt.Sprintf("%s: open %d, ages %v, undated %d, reviewed %d, oldest %s %d", g.Severity, g.Open(), g.Ages, g.Undated, g.Reviewed, oldest, g.Days))
	}
	want := []string{
		"high: open 4, ages [2 1 0 1], undated 0, reviewed 1, oldest 2030-01-01 455",
		"medium: open 1, ages [0 0 0 0], undated 1, reviewed 0, oldest  0",
		"low: open 2, ages [0 0 1 1], undated 0, reviewed 0, oldest 2030-12-31 91",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func FuzzParseReviews(f *testing.F) {
	f.Add(chainOf(f, 3))
	f.Add([]byte("{}\n\n{\"schema\":1}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r := ParseReviews(text)
		if r.Whole() != nil {
			return
		}
		added, _, err := r.extend("", []any{decision(0)})
		if err != nil {
			t.Fatal(err)
		}
		again := ParseReviews(append(bytes.Clone(text), added...))
		if again.Whole() != nil || again.Torn || len(again.Lines) != len(r.Lines)+1 {
			t.Fatalf("a review after %q: %+v", text, again)
		}
	})
}
