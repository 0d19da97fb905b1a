package evidence

import (
	"rollonset/report/archive"
)

// chains follows the chains of the archive, and holds them to their heads, to
// what runs saw of them and to what somebody noted down. It comes before the
// other files, because the log of retention holds some of those.
func (v *verifier) chains() {
	v.chained = map[string]bool{}
	reviews, err := v.a.Reviews()
	if err != nil {
		v.unread(archive.ReviewsFile, err)
	} else {
		v.out.Reviews = len(reviews.Lines)
		if v.chain(&reviews.Chain) {
			v.seenByRuns(reviews)
		}
	}
	log, chain, err := ReadRetention(v.a)
	if err != nil {
		v.unread(RetentionFile, err)
	} else if v.chain(&chain) {
		v.counts(log)
	}
	chain, err = archive.ReadChain(v.a, LookUpsFile, func(LookUp) string { return "" })
	if err != nil {
		v.unread(LookUpsFile, err)
	} else {
		v.chain(&chain)
	}
}

func (v *verifier) unread(file string, err error) {
	v.chained[file], v.chained[archive.HeadFile(file)] = true, true
	v.differ(file, "cannot be read: %v", err)
}

// chain says what is wrong with a chain, and whether its lines are sound.
func (v *verifier) chain(c *archive.Chain) bool {
	head := archive.HeadFile(c.File)
	v.chained[c.File], v.chained[head] = true, true
	for _, what := range c.Broken {
		v.differ(c.File, "%s", what)
	}
	if c.Astray {
		v.differ(head, "tells of a line that %s does not hold", c.File)
	}
	if c.Head.Lines > 0 && !c.Anchored {
		v.differ(head, "is missing, so nothing tells whether the end of %s was cut off; the next line that is added writes it anew", c.File)
	}
	for i, text := range c.Notes {
		if c.Torn && i == len(c.Notes)-1 {
			v.differ(c.File, "%s", text)
			continue
		}
		v.note("%s: %s", c.File, text)
	}
	if c.Torn || len(c.Broken) > 0 && !c.Astray {
		return false // its lines do not follow each other, so nothing else is told of it
	}
	for _, n := range v.options.Noted {
		if n.File == c.File && !c.Holds(n.Head) {
			v.differ(c.File, "does not hold line %d with the hash %s, which was noted: lines are missing or were exchanged", n.Head.Lines, n.Head.SHA256)
		}
	}
	if c.Head.Lines > 0 && !c.Astray {
		v.out.Heads = append(v.out.Heads, NotedHead{c.File, c.Head})
	}
	return true
}

// seenByRuns holds the reviews to what runs saw of them.
func (v *verifier) seenByRuns(r *archive.Reviews) {
	for i := range v.runs {
		if h := v.runs[i].Reviews; !r.Holds(h) {
			v.differ(archive.ReviewsFile, "does not hold line %d as run %s saw it (hash %s): lines are missing or were exchanged", h.Lines, v.runs[i].ID, h.SHA256)
		}
	}
}

// counts holds the counts of retention to the latest line of its log that has
// their hashes. While a step is not finished they are ahead of it.
func (v *verifier) counts(log []Gone) {
	last := lastCounted(log)
	totals, err := ReadTotals(v.a)
	switch {
	case err != nil:
		v.chained[aggregateFile] = true
		v.differ(aggregateFile, "%v", err)
		return
	case len(totals.Pending) > 0:
		for _, f := range []string{aggregateFile, aggregateFlight, aggregateChecks} {
			v.chained[f] = true
		}
		v.note("%s is not checked: retention was stopped before it was done; run the same command again", aggregateFile)
		return
	case last == nil:
		return
	}
	for _, f := range last.Counts {
		v.chained[f.File] = true
		hash, err := v.a.HashFile(f.File)
		switch {
		case err != nil:
			v.differ(f.File, "cannot be read: %v", err)
		case hash != f.SHA256:
			v.differ(f.File, "has the hash %s, %s says %s", hash, RetentionFile, f.SHA256)
		}
	}
}
