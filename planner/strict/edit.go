package strict

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// Copy gives a document of its own with the same content and no problems but
// those of its shape.
func (d *Document) Copy() *Document {
	c := &Document{File: d.File, root: copyNode(d.root), lines: d.lines}
	c.refuseShapes(c.root, "", 0)
	return c
}

func copyNode(n *yaml.Node) *yaml.Node {
	c := *n
	c.Content = make([]*yaml.Node, len(n.Content))
	for i, child := range n.Content {
		c.Content[i] = copyNode(child)
	}
	return &c
}

// Set writes a value at a path of keys and list positions (rig.charge,
// run.0.for). The value is YAML text, so a whole mapping can be set; the empty
// text takes the key away. Mappings on the way are made where they are missing;
// a list takes positions it has and the one after its last. What is set has no
// place in the file, and problems with it say so. The error names the path.
func (d *Document) Set(path, value string) error {
	node, err := parseFragment(value)
	if err != nil {
		return fmt.Errorf("%s=%s: %w", path, value, err)
	}
	keys := strings.Split(path, ".")
	if err := set(d.root, keys, node); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

// SetText writes one plain text at a path, quoted as needed. Text that a file
// could not hold is refused.
func (d *Document) SetText(path, text string) error {
	if !utf8.ValidString(text) {
		return fmt.Errorf("%s: this is not UTF-8 text", path)
	}
	if i := strings.IndexFunc(text, isControl); i >= 0 {
		r, _ := utf8.DecodeRuneInString(text[i:])
		return fmt.Errorf("%s: %s", path, controlMessage(r))
	}
	node := &yaml.Node{Kind: yaml.ScalarNode, Value: text, Tag: "!!str"}
	if err := set(d.root, strings.Split(path, "."), node); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}

// Merge adds the keys of another document's mapping that this path lacks:
// what stands here stays, what does not is taken from there.
func (d *Document) Merge(path string, from *Document) error {
	return d.merge(path, from.root)
}

func (d *Document) merge(path string, from *yaml.Node) error {
	into := d.Root()
	if path != "" {
		for key := range strings.SplitSeq(path, ".") {
			into = into.Map().Optional(key)
		}
	}
	if into.node == nil || into.node.Kind != yaml.MappingNode || from.Kind != yaml.MappingNode {
		return fmt.Errorf("%s: a mapping is wanted", path)
	}
	have := (&Mapping{Value: into}).Keys()
	for i := 0; i+1 < len(from.Content); i += 2 {
		key := from.Content[i].Value
		if !slices.Contains(have, key) {
			value := copyNode(from.Content[i+1])
			forget(value)
			into.node.Content = append(into.node.Content, keyNode(key), value)
		}
	}
	return nil
}

func parseFragment(value string) (*yaml.Node, error) {
	if strings.TrimSpace(value) == "" {
		return nil, nil
	}
	doc, err := Parse("value", []byte(value))
	if err != nil {
		return nil, err
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	forget(doc.root)
	return doc.root, nil
}

// forget drops the positions of a node, which are those of another text.
func forget(n *yaml.Node) {
	n.Line, n.Column = 0, 0
	for _, child := range n.Content {
		forget(child)
	}
}

func keyNode(key string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Value: key, Tag: "!!str"}
}

func set(n *yaml.Node, keys []string, value *yaml.Node) error {
	switch n.Kind {
	case yaml.MappingNode:
		return setKey(n, keys, value)
	case yaml.SequenceNode:
		return setItem(n, keys, value)
	}
	return fmt.Errorf("nothing can be set below the single value %q", n.Value)
}

func setKey(n *yaml.Node, keys []string, value *yaml.Node) error {
	key := keys[0]
	if key == "" {
		return fmt.Errorf("an empty key")
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value != key {
			continue
		}
		if len(keys) > 1 {
			return set(n.Content[i+1], keys[1:], value)
		}
		if value == nil {
			n.Content = append(n.Content[:i:i], n.Content[i+2:]...)
			return nil
		}
		n.Content[i+1] = value
		return nil
	}
	if value == nil {
		return nil
	}
	child := value
	if len(keys) > 1 {
		child = &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}
		if err := set(child, keys[1:], value); err != nil {
			return err
		}
	}
	n.Content = append(n.Content, keyNode(key), child)
	return nil
}

func setItem(n *yaml.Node, keys []string, value *yaml.Node) error {
	i, err := strconv.Atoi(keys[0])
	if err != nil || i < 0 || i > len(n.Content) {
		return fmt.Errorf("%q is not a position in a list of %d, counted from 0", keys[0], len(n.Content))
	}
	switch {
	case len(keys) > 1 && i < len(n.Content):
		return set(n.Content[i], keys[1:], value)
	case len(keys) > 1:
		return fmt.Errorf("the list has no item %d", i)
	case value == nil && i < len(n.Content):
		n.Content = append(n.Content[:i:i], n.Content[i+1:]...)
	case value == nil:
	case i == len(n.Content):
		n.Content = append(n.Content, value)
	default:
		n.Content[i] = value
	}
	return nil
}
