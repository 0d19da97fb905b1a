package archive

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
)

// remark is the smallest entry of a chain.
type remark struct {
	Schema int    `json:"schema"`
	Text   string `json:"text"`
	Link
}

const remarksFile = "remarks.jsonl"

func addRemarks(t *testing.T, a *Archive, texts ...string) {
	t.Helper()
	var entries []remark
	for _, text := range texts {
		entries = append(entries, remark{Schema: chainSchema, Text: text})
	}
	if err := AppendChain(a, remarksFile, "2031-04-01T08:00:00Z", entries); err != nil {
		t.Fatal(err)
	}
}

func readRemarks(t *testing.T, a *Archive) (Chain, string) {
	t.Helper()
	var texts []string
	c, err := ReadChain(a, remarksFile, func(r remark) string { texts = append(texts, r.Text); return "" })
	if err != nil {
		t.Fatal(err)
	}
	return c, strings.Join(texts, " ")
}

// What happens to the end of a chain, and to its head, is found, but for what
// a writer that was killed between the two leaves.
func TestChainAndHead(t *testing.T) {
	for name, c := range map[string]struct {
		change func(t *testing.T, chain, head []string) (string, string) // "" for no file
		broken string                                                    // "" for sound
		astray bool
	}{
		"as written":         {func(_ *testing.T, c, h []string) (string, string) { return c[3], h[3] }, "", false},
		"a line cut off":     {func(_ *testing.T, c, h []string) (string, string) { return c[2], h[3] }, "does not hold line 3", true},
		"all lines cut off":  {func(_ *testing.T, c, h []string) (string, string) { return "", h[3] }, "does not hold line 3", true},
		"killed between":     {func(_ *testing.T, c, h []string) (string, string) { return c[3], h[2] }, "", false},
		"no head":            {func(_ *testing.T, c, h []string) (string, string) { return c[3], "" }, "", false},
		"another count":      {func(_ *testing.T, c, h []string) (string, string) { return c[3], "2" + h[3][1:] }, "does not hold line 2", true},
		"a count of nothing": {func(_ *testing.T, c, h []string) (string, string) { return c[3], "0" + h[3][1:] }, "does not hold line 0", true},
		"a head without end": {func(_ *testing.T, c, h []string) (string, string) { return c[3], strings.TrimSpace(h[3]) }, "does not read", true},
		"a head of words":    {func(_ *testing.T, c, h []string) (string, string) { return c[3], "three\n" }, "does not read", true},
		"an empty head":      {func(_ *testing.T, c, h []string) (string, string) { return c[3], "\n" }, "does not read", true},
		"written anew, old": {func(_ *testing.T, c, h []string) (string, string) {
			return c[3], h[3] + "1 " + strings.Repeat("0", 64) + "\n"
		}, "", false},
		"written anew, new": {func(_ *testing.T, c, h []string) (string, string) {
			return c[3], "9 " + strings.Repeat("0", 64) + "\n" + h[3]
		}, "", false},
		"written anew, false": {func(_ *testing.T, c, h []string) (string, string) { return c[1], h[2] + h[3] }, "does not hold line 3", true},
	} {
		t.Run(name, func(t *testing.T) {
			a := create(t)
			chain, head := []string{""}, []string{""}
			for _, text := range []string{"one", "two", "three"} {
				addRemarks(t, a, text)
				chain, head = append(chain, content(t, a.Path(remarksFile))), append(head, content(t, a.Path(HeadFile(remarksFile))))
			}
			newChain, newHead := c.change(t, chain, head)
			for file, text := range map[string]string{remarksFile: newChain, HeadFile(remarksFile): newHead} {
				if text == "" {
					if err := os.Remove(a.Path(file)); err != nil {
						t.Fatal(err)
					}
				} else if err := os.WriteFile(a.Path(file), []byte(text), 0o640); err != nil {
					t.Fatal(err)
				}
			}
			got, _ := readRemarks(t, a)
			if c.broken == "" {
				if got.Whole() != nil || got.Astray || got.Anchored != (newHead != "") {
					t.Fatalf("%+v", got)
				}
				addRemarks(t, a, "four")
				after, texts := readRemarks(t, a)
				if after.Whole() != nil || texts != "one two three four" || content(t, a.Path(HeadFile(remarksFile))) != after.Head.String()+"\n" {
					t.Errorf("then another: %+v, %q", after, texts)
				}
				return
			}
			if err := got.Whole(); err == nil || !strings.Contains(err.Error(), c.broken) || got.Astray != c.astray {
				t.Errorf("%+v, want %q", got, c.broken)
			}
			if err := AppendChain(a, remarksFile, "", []remark{{Schema: chainSchema}}); err == nil {
				t.Error("a line was added behind the damage and hides it")
			}
		})
	}
}

func TestParseHead(t *testing.T) {
	good := ChainHead{12, HashOf([]byte("x"))}
	if got, err := ParseHead(good.String()); err != nil || got != good {
		t.Errorf("%v, %v", got, err)
	}
	for _, text := range []string{"", "12", good.SHA256, "012 " + good.SHA256, "-1 " + good.SHA256, "12  " + good.SHA256, good.String() + "0", strings.ToUpper(good.String())} {
		if _, err := ParseHead(text); err == nil {
			t.Errorf("%q was taken", text)
		}
	}
}

// A chain that is written anew holds its head at every instant, for readers
// who know no lock and for those who come after a kill at any write.
func TestRenewReviewsUnderReaders(t *testing.T) {
	a := create(t)
	if err := a.AddReviews([]Review{decision(0), decision(1)}); err != nil {
		t.Fatal(err)
	}
	stop := make(chan struct{})
	var wait sync.WaitGroup
	for range 2 {
		wait.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
				}
				if r, err := a.Reviews(); err != nil || r.Whole() != nil {
					t.Errorf("a reader saw %v, %v", err, r.Whole())
					return
				}
			}
		})
	}
	for n := range 40 {
		old, err := a.Reviews()
		if err != nil {
			t.Fatal(err)
		}
		head, err := a.RenewReviews(old, Review{Time: "2031-04-01T08:00:00Z", Note: fmt.Sprintf("anew %d", n)}, []Review{decision(n)})
		if err != nil {
			t.Fatal(err)
		}
		if now, err := a.Reviews(); err != nil || now.Head != head || len(now.Lines) != 1 || len(now.Notes) != 1 {
			t.Fatalf("%+v, %v", now, err)
		}
		if err := a.AddReviews([]Review{decision(n + 1)}); err != nil {
			t.Fatal(err)
		}
	}
	close(stop)
	wait.Wait()
	// Killed between the writes: two heads, and the old chain or the new one.
	old := content(t, a.Path(ReviewsFile))
	was, err := a.Reviews()
	if err != nil {
		t.Fatal(err)
	}
	head, err := a.RenewReviews(was, Review{Time: "2031-04-01T08:00:00Z", Note: "anew"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	fresh := content(t, a.Path(ReviewsFile))
	for _, text := range []string{old, fresh} {
		if err := a.writeHeads(ReviewsFile, was.Head, head); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(a.Path(ReviewsFile), []byte(text), 0o640); err != nil {
			t.Fatal(err)
		}
		if r, err := a.Reviews(); err != nil || r.Whole() != nil {
			t.Errorf("after a kill: %v, %v", err, r.Whole())
		}
		if err := a.AddReviews([]Review{decision(5)}); err != nil {
			t.Error(err)
		}
		if heads := content(t, a.Path(HeadFile(ReviewsFile))); bytes.Count([]byte(heads), []byte("\n")) != 1 {
			t.Errorf("heads %q", heads)
		}
	}
}
