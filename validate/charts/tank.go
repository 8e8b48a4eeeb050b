package charts

import "dropcut/plan/unit"

func anotherTank(ws *Workspace) {}
func pastFull(ws *Workspace)    {}
func habits(ws *Workspace)      {}
func (ws *Workspace) judge()    {}

// upright reports whether the tank list calls the tank an upright one.
func (ws *Workspace) upright() bool {
	s := unit.Fold(ws.f.Shape)
	return len(s) >= 4 && (s[:4] == "vert" || s[:4] == "upri")
}
