package web

import (
	"testing"

	"stillwatch/web/sample"
	"stillwatch/web/screens"
	"stillwatch/web/site"
)

// BenchmarkPage makes pages from what they show: the templates alone.
func BenchmarkPage(b *testing.B) {
	list, err := sample.List()
	if err != nil {
		b.Fatal(err)
	}
	assets, err := site.LoadAssets(false)
	if err != nil {
		b.Fatal(err)
	}
	s, err := screens.Load(nil, assets.URL)
	if err != nil {
		b.Fatal(err)
	}
	for _, p := range list {
		switch p.Name {
		case "board", "tag-authorised-fit", "walk-authorised", "permit-live":
			page := p.Make(sample.CannedBase("day", p.Name))
			b.Run(p.Name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := s.Write(p.Screen, page); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
