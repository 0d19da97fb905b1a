package reject_test

import (
	"os"
	"testing"

	"rollonset/detect/internal/casefile"
)

// TestCases holds the case files of this folder to their expectations.
func TestCases(t *testing.T) { casefile.Run(t, "testdata/*.txt", os.ReadFile) }
