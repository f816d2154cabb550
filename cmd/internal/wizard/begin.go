package wizard

import (
	"fmt"

	"daytank/cmd/internal/prompt"
)

// newWord begins a new draft where there is something to go on with.
const newWord = "new"

// unfinished says that there is something to go on with.
func (c Config) unfinished() string {
	if len(c.Open) > 0 {
		return "There is work that was not finished"
	}
	return "There is a draft that was not finished"
}

// beginnings are the ways to begin: the drafts, the jobs that are open, and a new draft.
func (c Config) beginnings(drafts []kept) []entry {
	var all []entry
	add := func(text string) { all = append(all, entry{fmt.Sprint(len(all) + 1), prompt.Plain(text)}) }
	for _, d := range drafts {
		add("go on with " + d.name(c.Now()))
	}
	for _, j := range c.Open {
		add("walk " + j.called() + ": " + j.How)
	}
	return append(all, entry{newWord, "start anew"})
}

// beginning gives the draft or the job that was chosen; neither for a new draft.
func (c Config) beginning(drafts []kept, chosen string) (*kept, *OpenJob) {
	for i := range drafts {
		if chosen == fmt.Sprint(i+1) {
			return &drafts[i], nil
		}
	}
	for i := range c.Open {
		if chosen == fmt.Sprint(len(drafts)+i+1) {
			return nil, &c.Open[i]
		}
	}
	return nil, nil
}

// called gives a job's name with its title.
func (j OpenJob) called() string {
	if j.Title == "" {
		return j.Name
	}
	return j.Name + ", " + j.Title
}

// walked is how a wizard ends with a job that is walked on.
func (j OpenJob) walked() Result { return Result{Job: j.Name, Walk: true} }
