// Package chart draws plain data: lines with bands behind them and events marked,
// points with error bars, bars; as SVG and as text for a terminal.
//
// Problem: a trace with the candidates' band, a calibration curve and the odds
// are to be seen in a page, on paper and in a terminal, alike, from Go alone.
// Model: a [Plot] holds numbers in the units to be shown; scales are linear, with
// ticks at 1, 2 or 5 times a power of ten. Nothing is told by colour alone: lines
// differ by dash and are named at their end, bands by shade. SVG is drawn in
// currentColor, so the page's own ink, light or dark, is the chart's; the accent
// is the CSS variable --accent where the page has one.
// Assumptions: up to some thousands of points a line; longer ones are thinned to
// the lowest and highest of each pixel, so that no peak is lost. NaN breaks a line.
// Where it stops being true: no logarithmic or time-of-day axes; labels of many
// events at one place are stacked in rows, and beyond five rows they overlap.
// Sources: ticks and layout are our own; braille dots follow Unicode block 2800.
package chart
