package web

import "testing"

// BenchmarkPage makes pages from what they show: the templates alone.
func BenchmarkPage(b *testing.B) {
	list, err := cannedPages()
	if err != nil {
		b.Fatal(err)
	}
	assets, err := loadAssets(false)
	if err != nil {
		b.Fatal(err)
	}
	s, err := loadScreens(false, assets.url)
	if err != nil {
		b.Fatal(err)
	}
	for _, p := range list {
		switch p.name {
		case "board", "tag-authorised-fit", "walk-authorised", "permit-live":
			page := p.make(cannedBase("day", p.name))
			b.Run(p.name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := s.write(p.screen, page); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
