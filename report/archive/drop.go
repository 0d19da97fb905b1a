package archive

import (
	"fmt"
	"os"
	"path"
)

// Drop removes a flight folder whose result lies in another folder: the same
// recording had come under another name. The summary goes first, so that a
// reader never finds it without its clip.
func (a *Archive) Drop(folder string) error {
	if !isFlightFolder(folder) {
		return fmt.Errorf("drop %q: not a flight folder", folder)
	}
	if err := os.Remove(a.Path(path.Join(folder, SummaryFile))); err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("drop %s: %w", folder, err)
	}
	if err := os.RemoveAll(a.Path(folder)); err != nil {
		return fmt.Errorf("drop %s: %w", folder, err)
	}
	return nil
}
