package page_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

func TestRenderTmp(t *testing.T) {
	dir := os.Getenv("RENDER_TO")
	if dir == "" {
		t.Skip()
	}
	os.WriteFile(filepath.Join(dir, "flight.html"), []byte(flight(t, rejectThenTakeoff(), fixtureClip(8))), 0o644)
	os.WriteFile(filepath.Join(dir, "hostile.html"), []byte(flight(t, hostileNames(), fixtureClip(8))), 0o644)
	os.WriteFile(filepath.Join(dir, "untold.html"), []byte(flight(t, untoldTrim(), fixtureClip(1))), 0o644)
	os.WriteFile(filepath.Join(dir, "night.html"), []byte(night(t, append(manyFlights(20), untoldTrim(), hostileNames())...)), 0o644)
}

func TestShotTmp(t *testing.T) {
	dir := os.Getenv("RENDER_TO")
	if dir == "" {
		t.Skip()
	}
	p := browser(t)
	for n, s := range map[string]string{"n-flight": flight(t, rejectThenTakeoff(), fixtureClip(8)), "n-night": night(t, rejectThenTakeoff(), untoldTrim())} {
		b := open(t, p, s, 360)
		png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
		if err != nil {
			t.Fatal(err)
		}
		os.WriteFile(filepath.Join(dir, n+".png"), png, 0o644)
	}
}
