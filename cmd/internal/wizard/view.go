package wizard

import (
	"slices"
	"strings"

	"daytank/planner/engine"
	"daytank/planner/strict"
)

// View is what a draft says now, a kept engine's figures filled in.
type View struct {
	doc     *strict.Document
	engines *engine.Library
}

// look gives the view of a document, which is left as it is.
func look(doc *strict.Document, engines *engine.Library) View {
	v := View{doc.Copy(), engines}
	engines.Resolve(v.doc, "engine")
	return v
}

// Text gives the value at a path as it is written; empty where there is none.
func (v View) Text(path string) string {
	if at := valueAt(v.doc, path); at.IsText() {
		return at.Text()
	}
	return ""
}

// Layout gives the layout of the fuel system; the zero layout where it is not
// known yet.
func (v View) Layout() engine.Layout {
	layout, _ := v.engines.Layout(v.Text(enginePath))
	return layout
}

// Injectors gives the kind of injectors, that of the layout where none is given.
func (v View) Injectors() string {
	if given := v.Text("engine.injectors"); given != "" {
		return given
	}
	return v.Layout().Injectors
}

// given, absent and is are conditions of questions.
func given(path string) func(View) bool {
	return func(v View) bool { return v.Text(path) != "" }
}

func absent(path string) func(View) bool {
	return func(v View) bool { return v.Text(path) == "" }
}

func is(path, word string) func(View) bool {
	return func(v View) bool { return v.Text(path) == word }
}

// arises tells whether a question is one to ask at all.
func (q Question) arises(v View) bool { return q.When == nil || q.When(v) }

// valueAt gives what stands at a path of keys and positions; nothing where the
// path leads through a single value.
func valueAt(doc *strict.Document, path string) strict.Value {
	v := doc.Root()
	for key := range strings.SplitSeq(path, ".") {
		switch {
		case !v.Present() || v.IsText():
			return strict.Value{}
		case v.IsList():
			i := slices.IndexFunc(v.List(), func(item strict.Value) bool { return strings.HasSuffix("."+item.Path(), "."+key) })
			if i < 0 {
				return strict.Value{}
			}
			v = v.List()[i]
		default:
			v = v.Map().Optional(key)
		}
	}
	return v
}

// change makes an edit. What stands in its way as a single value gives way;
// mappings that are left without a key go too, since a reader would ask for what
// they lack.
func change(doc *strict.Document, e Edit) error {
	keys := strings.Split(e.Path, ".")
	for i := 1; i < len(keys); i++ {
		above := strings.Join(keys[:i], ".")
		if valueAt(doc, above).IsText() {
			if err := doc.Set(above, ""); err != nil {
				return err
			}
		}
	}
	switch {
	case e.Away:
		return takeAway(doc, keys)
	case e.Fragment:
		return doc.Set(e.Path, e.Text)
	}
	return doc.SetText(e.Path, e.Text)
}

func takeAway(doc *strict.Document, keys []string) error {
	for n := len(keys); n > 0; n-- {
		path := strings.Join(keys[:n], ".")
		at := valueAt(doc, path)
		if !at.Present() {
			continue
		}
		if n < len(keys) && (at.IsText() || at.IsList() || len(at.Map().Keys()) > 0) {
			return nil
		}
		if err := doc.Set(path, ""); err != nil {
			return err
		}
	}
	return nil
}
