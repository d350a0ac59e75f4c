package release

import (
	"fmt"

	"cardback/internal/fields"
)

// Licence is a known licence.
type Licence struct {
	ID   string // SPDX id
	Name string
	URL  string // the licence's canonical page
	// ForReleases marks those a release may carry: the packer holds their full
	// text. The rest may stand in a credit.
	ForReleases bool
}

// licences: ids and names from the SPDX licence list (package
// spdx-license-list 6.12.0, CC0), with the Creative Commons names hyphenated as
// their legal texts have them and their own addresses; the addresses of the
// rest are the SPDX list's pages.
var licences = []Licence{
	{"CC0-1.0", "Creative Commons Zero 1.0 Universal", "https://creativecommons.org/publicdomain/zero/1.0/", true},
	{"CC-BY-4.0", "Creative Commons Attribution 4.0 International", "https://creativecommons.org/licenses/by/4.0/", true},
	{"CC-BY-SA-4.0", "Creative Commons Attribution-ShareAlike 4.0 International", "https://creativecommons.org/licenses/by-sa/4.0/", true},
	{"CC-BY-NC-4.0", "Creative Commons Attribution-NonCommercial 4.0 International", "https://creativecommons.org/licenses/by-nc/4.0/", true},
	{"CC-BY-NC-SA-4.0", "Creative Commons Attribution-NonCommercial-ShareAlike 4.0 International", "https://creativecommons.org/licenses/by-nc-sa/4.0/", true},
	{"CC-BY-ND-4.0", "Creative Commons Attribution-NoDerivatives 4.0 International", "https://creativecommons.org/licenses/by-nd/4.0/", true},
	{"CC-BY-NC-ND-4.0", "Creative Commons Attribution-NonCommercial-NoDerivatives 4.0 International", "https://creativecommons.org/licenses/by-nc-nd/4.0/", true},
	{"CC-BY-3.0", "Creative Commons Attribution 3.0 Unported", "https://creativecommons.org/licenses/by/3.0/", false},
	{"CC-BY-SA-3.0", "Creative Commons Attribution-ShareAlike 3.0 Unported", "https://creativecommons.org/licenses/by-sa/3.0/", false},
	{"CC-BY-NC-3.0", "Creative Commons Attribution-NonCommercial 3.0 Unported", "https://creativecommons.org/licenses/by-nc/3.0/", false},
	{"CC-BY-NC-SA-3.0", "Creative Commons Attribution-NonCommercial-ShareAlike 3.0 Unported", "https://creativecommons.org/licenses/by-nc-sa/3.0/", false},
	{"CC-BY-ND-3.0", "Creative Commons Attribution-NoDerivatives 3.0 Unported", "https://creativecommons.org/licenses/by-nd/3.0/", false},
	{"CC-BY-NC-ND-3.0", "Creative Commons Attribution-NonCommercial-NoDerivatives 3.0 Unported", "https://creativecommons.org/licenses/by-nc-nd/3.0/", false},
	{"CC-BY-2.5", "Creative Commons Attribution 2.5 Generic", "https://creativecommons.org/licenses/by/2.5/", false},
	{"CC-BY-SA-2.5", "Creative Commons Attribution-ShareAlike 2.5 Generic", "https://creativecommons.org/licenses/by-sa/2.5/", false},
	{"CC-BY-NC-2.5", "Creative Commons Attribution-NonCommercial 2.5 Generic", "https://creativecommons.org/licenses/by-nc/2.5/", false},
	{"CC-BY-NC-SA-2.5", "Creative Commons Attribution-NonCommercial-ShareAlike 2.5 Generic", "https://creativecommons.org/licenses/by-nc-sa/2.5/", false},
	{"CC-BY-ND-2.5", "Creative Commons Attribution-NoDerivatives 2.5 Generic", "https://creativecommons.org/licenses/by-nd/2.5/", false},
	{"CC-BY-NC-ND-2.5", "Creative Commons Attribution-NonCommercial-NoDerivatives 2.5 Generic", "https://creativecommons.org/licenses/by-nc-nd/2.5/", false},
	{"CC-BY-2.0", "Creative Commons Attribution 2.0 Generic", "https://creativecommons.org/licenses/by/2.0/", false},
	{"CC-BY-SA-2.0", "Creative Commons Attribution-ShareAlike 2.0 Generic", "https://creativecommons.org/licenses/by-sa/2.0/", false},
	{"CC-BY-NC-2.0", "Creative Commons Attribution-NonCommercial 2.0 Generic", "https://creativecommons.org/licenses/by-nc/2.0/", false},
	{"CC-BY-NC-SA-2.0", "Creative Commons Attribution-NonCommercial-ShareAlike 2.0 Generic", "https://creativecommons.org/licenses/by-nc-sa/2.0/", false},
	{"CC-BY-ND-2.0", "Creative Commons Attribution-NoDerivatives 2.0 Generic", "https://creativecommons.org/licenses/by-nd/2.0/", false},
	{"CC-BY-NC-ND-2.0", "Creative Commons Attribution-NonCommercial-NoDerivatives 2.0 Generic", "https://creativecommons.org/licenses/by-nc-nd/2.0/", false},
	{"CC-BY-1.0", "Creative Commons Attribution 1.0 Generic", "https://creativecommons.org/licenses/by/1.0/", false},
	{"CC-BY-SA-1.0", "Creative Commons Attribution-ShareAlike 1.0 Generic", "https://creativecommons.org/licenses/by-sa/1.0/", false},
	{"CC-BY-NC-1.0", "Creative Commons Attribution-NonCommercial 1.0 Generic", "https://creativecommons.org/licenses/by-nc/1.0/", false},
	{"CC-BY-NC-SA-1.0", "Creative Commons Attribution-NonCommercial-ShareAlike 1.0 Generic", "https://creativecommons.org/licenses/by-nc-sa/1.0/", false},
	{"CC-BY-ND-1.0", "Creative Commons Attribution-NoDerivatives 1.0 Generic", "https://creativecommons.org/licenses/by-nd/1.0/", false},
	{"CC-BY-NC-ND-1.0", "Creative Commons Attribution-NonCommercial-NoDerivatives 1.0 Generic", "https://creativecommons.org/licenses/by-nd-nc/1.0/", false},
	{"MIT", "MIT License", "https://spdx.org/licenses/MIT.html", false},
	{"Apache-2.0", "Apache License 2.0", "https://spdx.org/licenses/Apache-2.0.html", false},
	{"BSD-2-Clause", "BSD 2-Clause \"Simplified\" License", "https://spdx.org/licenses/BSD-2-Clause.html", false},
	{"BSD-3-Clause", "BSD 3-Clause \"New\" or \"Revised\" License", "https://spdx.org/licenses/BSD-3-Clause.html", false},
	{"GPL-2.0-only", "GNU General Public License v2.0 only", "https://spdx.org/licenses/GPL-2.0-only.html", false},
	{"GPL-2.0-or-later", "GNU General Public License v2.0 or later", "https://spdx.org/licenses/GPL-2.0-or-later.html", false},
	{"GPL-3.0-only", "GNU General Public License v3.0 only", "https://spdx.org/licenses/GPL-3.0-only.html", false},
	{"GPL-3.0-or-later", "GNU General Public License v3.0 or later", "https://spdx.org/licenses/GPL-3.0-or-later.html", false},
	{"LGPL-2.1-or-later", "GNU Lesser General Public License v2.1 or later", "https://spdx.org/licenses/LGPL-2.1-or-later.html", false},
	{"LGPL-3.0-or-later", "GNU Lesser General Public License v3.0 or later", "https://spdx.org/licenses/LGPL-3.0-or-later.html", false},
	{"MPL-2.0", "Mozilla Public License 2.0", "https://spdx.org/licenses/MPL-2.0.html", false},
	{"CERN-OHL-P-2.0", "CERN Open Hardware Licence Version 2 - Permissive", "https://spdx.org/licenses/CERN-OHL-P-2.0.html", false},
	{"CERN-OHL-W-2.0", "CERN Open Hardware Licence Version 2 - Weakly Reciprocal", "https://spdx.org/licenses/CERN-OHL-W-2.0.html", false},
	{"CERN-OHL-S-2.0", "CERN Open Hardware Licence Version 2 - Strongly Reciprocal", "https://spdx.org/licenses/CERN-OHL-S-2.0.html", false},
	{"TAPR-OHL-1.0", "TAPR Open Hardware License v1.0", "https://spdx.org/licenses/TAPR-OHL-1.0.html", false},
	{"Unlicense", "The Unlicense", "https://spdx.org/licenses/Unlicense.html", false},
	{"0BSD", "BSD Zero Clause License", "https://spdx.org/licenses/0BSD.html", false},
}

// FindLicence looks a licence up by its SPDX id.
func FindLicence(id string) (Licence, bool) {
	for _, l := range licences {
		if l.ID == id {
			return l, true
		}
	}
	return Licence{}, false
}

// Licences lists the known licences, those for releases first.
func Licences() []Licence { return append([]Licence(nil), licences...) }

// licence reads an SPDX id. forRelease narrows the choice to those whose text
// is packed.
func licence(m *fields.Map, name string, need fields.Need, forRelease bool) string {
	id := m.Text(name, need)
	if id == "" {
		return ""
	}
	var known []string
	for _, l := range licences {
		if l.ForReleases || !forRelease {
			known = append(known, l.ID)
		}
	}
	l, ok := FindLicence(id)
	switch {
	case !ok:
		m.Errorf(name, "licence %q is not an SPDX id known here; %s", id, fields.Suggest(id, known))
	case forRelease && !l.ForReleases:
		m.Errorf(name, "licence %q may stand in a credit but not on a release; expected %s", id, fields.OneOf(known))
	default:
		return id
	}
	return ""
}

// Label is "name (id)".
func (l Licence) Label() string { return fmt.Sprintf("%s (%s)", l.Name, l.ID) }
