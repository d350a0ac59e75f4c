package cli

import "cardback/internal/release"

// startNotes is release.md: number, title as YAML.
const startNotes = `---
# The fields between the two lines of --- are YAML. A line that begins with # is a
# comment: remove the # of a field that you need. Lengths are millimetres unless a
# unit is written (2.5 in), angles degrees, dates year-month-day.
number: %d
title: %s

# The height as printed, or scale: "1:18", or both.
height: 20
# scale: "1:18"

# The day, as in 2026-03-14. Until then, or while it says "not yet", the release is a
# draft, which "cardback build" leaves out and "cardback build --drafts" shows.
released: ` + release.NotYet + `
summary: ` + release.PlaceholderSummary + `

# Where this release has another licence than site.yaml states:
# licence: CC-BY-4.0

# Whose work was adapted, each with its licence:
# credits:
#   - work: The drawing that the coat follows
#     by: Who made it
#     licence: CC-BY-4.0
#     url: https://figures.example/drawing

# What the builder buys; item is an id of bench/hardware.yaml or of the shipped bench:
# hardware:
#   - {item: brass-rod-1.5, count: 1, cut: 24, where: through the block}

# How you print it, for each process:
# print:
#   filament: {layer: 0.2, supports: none, infill: 15 %%}
#   resin: {layer: 0.05, tilt: 30, supports: light, blend: {rigid-resin: 80, tough-resin: 20}}

# Cautions beyond the usual ones, which appear by themselves:
# cautions:
#   - The point is sharp. Blunt it with a file.

# tags: [figure, jointed]     # shown in the catalogue

# Photos stand in this folder; alt says what is to be seen:
# photos:
#   - {file: photos/front.jpg, alt: The figure from the front}

# The order of the parts on the chart, by their folders:
# parts: [block]
---

` + release.PlaceholderNotes + ` So is its only part, a block of 20 mm with one hole: it shows where things go. Replace the mesh in
parts/block with your own, add a folder for each further part, and write these notes anew.

## Assembly

1. Write each step as a line that begins with its number.
2. Name the parts as the chart does, and the cautions where the work is done.

## Printing notes

What you learned when you printed it. Log each test print with *cardback record*.
`

const startPart = `# Every field of this file may be left out, and so may the file.
name: Placeholder block

# How many copies are printed, and whether as many mirrored ones are printed too:
quantity: 1
# mirrored_twin: true

# Of all parts with the same choice the builder prints one:
# choice: hat

# A part that only filament, or only resin, needs:
# only: resin

# A piece that takes the place of a larger part on small plates names that part:
# replaces: hull

# Bought items that go into this part:
# takes:
#   - {item: brass-rod-1.5, count: 1, where: through the middle}

# How it prints best, laid over from how it is supplied:
# orientation: {tilt: 30, about: x}

notes: "A placeholder: a block of 20 mm with a hole for a 1.5 mm rod. Replace any.stl. A part may have filament.stl and resin.stl beside it or in its place, and flexible.stl; 3MF is read too."
`

const startSite = `# The site as a whole.
title: ` + release.PlaceholderTitle + `
tagline: Printable figures, measured
designer: ` + release.PlaceholderDesigner + `

# Where the site will stand on the web; change it before you publish.
address: ` + release.PlaceholderAddress + `
language: en

# The licence of what does not state its own, by its SPDX id: CC0-1.0, CC-BY-4.0,
# CC-BY-SA-4.0, CC-BY-NC-4.0, CC-BY-NC-SA-4.0, CC-BY-ND-4.0 or CC-BY-NC-ND-4.0.
# Choose before you publish: a licence once given stays given.
licence: CC-BY-4.0

# mm, or mm+in
units_shown: mm

# A change of less than this asks nobody to print a part again; 0 counts every one.
print_tolerance: 0.01 mm

# links:
#   - {label: Write to us, url: "mailto:post@figures.example"}
`

const startPlates = `# Printer classes, not products. The shipped ones stand below these; leave out
# "defaults: true" and only yours count. An entry with the id of a shipped one
# changes the fields that it names. Lengths in mm; the margin is kept free along the
# footprint's edge. One plate of each process is the design standard. "cardback bench
# processes" lists the processes; "cardback help processes" tells how a
# table bench/processes.yaml adds one.
defaults: true
# plates:
#   - id: my-resin
#     name: My resin plate
#     process: resin
#     width: 130
#     depth: 80
#     height: 160
#     margin: 2
`

const startMaterials = `# Stocks by class, none of them a product. The shipped ones stand below these; an
# entry with the id of a shipped one changes the fields that it names. Density in
# g/cm³, lengths in mm; the hole allowance is what is added to a rod's diameter so
# that the rod turns freely. source says where the values come from.
defaults: true
# materials:
#   - id: my-resin
#     name: My resin
#     process: resin
#     stiffness: rigid
#     density: 1.18
#     wall_min: 0.6
#     pin_min: 0.8
#     hole_allowance: 0.15
#     source: common practice, no source
`

const startHardware = `# Bought items by class. The shipped ones stand below these; an entry with the id of
# a shipped one changes the fields that it names. Diameters and lengths in mm unless a
# unit is written. The caution stands wherever the item is used.
defaults: true
# hardware:
#   - id: brass-rod-1.4
#     name: Brass rod, 1.4 mm
#     kind: rod
#     diameter: 1.4
#     stock_length: 300
#     caution: Wear eye protection when you cut rod, because offcuts fly. File both ends.
`

const startAbout = `---
title: About
---
` + release.PlaceholderPage + `

What is published here are display pieces, not tested toys: they may have small parts, thin ends and sharp points. Follow the safety data sheets of
whatever you print, glue and paint with, and your local law.
`
