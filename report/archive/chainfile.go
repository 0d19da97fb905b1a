package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// HeadFile is the file beside a chain that tells how far it goes: one line,
// the number of its lines and the hash of the last. It is written whole after
// every append, so a chain whose end is cut off no longer holds its head. Of
// somebody who cuts off both, only a head that was noted outside the archive
// tells. A writer that was killed between the two leaves a chain that goes on
// behind its head, which does no harm.
//
// While a chain is written anew the file has two lines, the old head and the
// new one, and the chain holds either.
func HeadFile(chain string) string { return chain + ".head" }

// String is a head as it stands in its file, and as it can be noted down.
func (h ChainHead) String() string { return strconv.Itoa(h.Lines) + " " + h.SHA256 }

// ParseHead reads a head as String writes it.
func ParseHead(text string) (ChainHead, error) {
	lines, hash, _ := strings.Cut(text, " ")
	n, err := strconv.Atoi(lines)
	h := ChainHead{n, hash}
	if err != nil || n < 0 || !isKey(hash) || h.String() != text {
		return ChainHead{}, fmt.Errorf("%q is no head of a chain; write the number of lines, a blank and the hash of 64 digits", text)
	}
	return h, nil
}

// ReadChain follows a chain of the archive and holds it to its head; one that
// is not there has no lines. Every sound entry is given to keep, which may
// give a note instead of keeping it. The error is that of reading; damage is
// told in the Chain.
func ReadChain[T any](a *Archive, file string, keep func(T) (note string)) (Chain, error) {
	text, heads, err := a.readChain(file)
	if err != nil {
		return Chain{File: file}, err
	}
	c := follow(file, text, keep)
	c.hold(heads)
	return c, nil
}

// hold holds a chain to the text of its file of heads, nil for none.
func (c *Chain) hold(heads []byte) {
	c.Anchored = heads != nil
	if !c.Anchored || len(c.Broken) > 0 {
		return
	}
	body, ended := strings.CutSuffix(string(heads), "\n")
	var last ChainHead
	for line := range strings.SplitSeq(body, "\n") {
		h, err := ParseHead(line)
		if err != nil || !ended {
			c.Astray = true
			c.Broken = append(c.Broken, fmt.Sprintf("cannot be held to %s, which does not read as this program writes it", HeadFile(c.File)))
			return
		}
		if c.Holds(h) && (h.Lines > 0 || h.SHA256 == HashOf(nil)) {
			return
		}
		last = h
	}
	c.Astray = true
	c.Broken = append(c.Broken, fmt.Sprintf("does not hold line %d with the hash %s, which %s tells of: lines are missing or were exchanged", last.Lines, last.SHA256, HeadFile(c.File)))
}

// readings is how often a chain is read again that another program is writing
// anew at the same moment.
const readings = 20

// readChain reads a chain and its heads so that they belong together. The
// heads are read first, because a chain that has grown meanwhile still holds
// them; and again behind it, because one that was written anew may not.
func (a *Archive) readChain(file string) (text, heads []byte, err error) {
	for range readings {
		var after []byte
		if heads, err = a.readIfThere(HeadFile(file)); err == nil {
			if text, err = a.readIfThere(file); err == nil {
				after, err = a.readIfThere(HeadFile(file))
			}
		}
		if err != nil {
			return nil, nil, fmt.Errorf("read %s: %w", file, err)
		}
		if bytes.Equal(heads, after) && (heads == nil) == (after == nil) {
			break
		}
	}
	return text, heads, nil
}

func (a *Archive) readIfThere(file string) ([]byte, error) {
	text, err := os.ReadFile(a.Path(file))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err == nil && text == nil {
		text = []byte{}
	}
	return text, err
}

// AppendChain appends entries to a chain, in one write that is on the disk
// when it returns, and then its head. The caller holds the lock of the chain.
// An entry is a struct with a field schema, which must be 1, and Link embedded
// at its end; time is that of now, for the note about what a killed writer
// left.
func AppendChain[T any](a *Archive, file, time string, entries []T) error {
	if len(entries) == 0 {
		return nil
	}
	was, err := ReadChain(a, file, func(T) string { return "" })
	if err == nil {
		err = was.Whole()
	}
	if err != nil {
		return err
	}
	return a.appendChain(&was, time, anys(entries))
}

func anys[T any](entries []T) []any {
	out := make([]any, len(entries))
	for i := range entries {
		out[i] = entries[i]
	}
	return out
}

func (a *Archive) appendChain(was *Chain, time string, entries []any) error {
	text, head, err := was.extend(time, entries)
	if err != nil {
		return err
	}
	// A chain without a head would look like one whose head was lost.
	if !was.Anchored {
		if err := a.writeHeads(was.File, was.Head); err != nil {
			return err
		}
	}
	file := a.Path(was.File)
	f, err := os.OpenFile(file, os.O_APPEND|os.O_CREATE|os.O_WRONLY, fileMode)
	if err != nil {
		return fmt.Errorf("write %s: %w", was.File, err)
	}
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	if err := syncFolder(filepath.Dir(file)); err != nil {
		return err
	}
	return a.writeHeads(was.File, head)
}

func (a *Archive) writeHeads(chain string, heads ...ChainHead) error {
	return WriteFile(a.Path(HeadFile(chain)), func(w io.Writer) error {
		for _, h := range heads {
			if _, err := fmt.Fprintln(w, h); err != nil {
				return err
			}
		}
		return nil
	})
}

// renewChain puts a chain of its own entries in place of the old one, whole or
// not at all, and gives its head. The caller holds the lock of the chain.
func (a *Archive) renewChain(old *Chain, time string, entries []any) (ChainHead, error) {
	fresh := Chain{File: old.File, Head: ChainHead{SHA256: HashOf(nil)}}
	text, head, err := fresh.extend(time, entries)
	if err != nil {
		return head, err
	}
	if err := a.writeHeads(old.File, old.Head, head); err != nil {
		return head, err
	}
	err = WriteFile(a.Path(old.File), func(w io.Writer) error { _, err := w.Write(text); return err })
	if err != nil {
		return head, err
	}
	return head, a.writeHeads(old.File, head)
}
