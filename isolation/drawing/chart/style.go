package chart

// Stylesheet returns the rules for a page that shows charts: each colour is a custom property of its own (--ch-limit,
// --ch-curve, --ch-bad …) with the page's text colour as its default, so that a chart is right in every palette without
// any of them. Nothing is told by colour alone.
func Stylesheet() string {
	return `.ch{max-width:100%;height:auto}
.ch-curve,.ch-fit{stroke:var(--ch-curve,currentColor)}
.ch-band{fill:var(--ch-curve,currentColor)}
.ch-limit{stroke:var(--ch-limit,currentColor)}
.ch-limit-words{fill:var(--ch-limit,currentColor)}
.ch-good{fill:var(--ch-good,currentColor);stroke:var(--ch-good,currentColor)}
.ch-bad{stroke:var(--ch-bad,currentColor)}
.ch-grid{stroke:var(--ch-grid,currentColor)}
.ch-words{fill:var(--ch-words,currentColor)}
`
}
