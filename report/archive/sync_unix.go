//go:build unix

package archive

import (
	"errors"
	"os"
	"syscall"
)

// syncFolder brings a rename to the disk: on Unix the entry of a folder is
// written with the folder, not with the file.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	// Some network file systems cannot sync a folder and say so; their rename
	// is then as lasting as they make it.
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}
