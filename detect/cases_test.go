package detect_test

import (
	"os"
	"testing"

	"rollonset/detect/internal/casefile"
)

// TestCases holds the published cases to their expectations: accident reports,
// 14 CFR 25.703, and the slowest recording that 14 CFR part 121 appendix M
// allows. Each case names its source.
func TestCases(t *testing.T) { casefile.Run(t, "testdata/*.txt", os.ReadFile) }
