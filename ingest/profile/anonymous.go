package profile

import (
	"bytes"
	"fmt"

	"go.yaml.in/yaml/v4"
)

// Anonymity says what stands in a profile in place of what would tell whose
// it is. Name and Type must be fit for the keys "name" and "types".
type Anonymity struct {
	Name, Type string
	Title      string
}

// Anonymous is the text of a profile for people outside the operator: without
// comments, tails, the pattern of file names and the columns of identity, with
// another name, type and title, and a reason that says so. What detection
// does with a clip stays the same; lines move, because the text is laid out
// anew. The same text gives the same bytes. An error means that the text was
// no profile before.
func Anonymous(text []byte, a Anonymity) ([]byte, error) {
	if _, err := Parse("profile", text); err != nil {
		return nil, err
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	uncomment(&doc)
	top := doc.Content[0]
	remove(top, "file_name")
	remove(top, "identity")
	put(top, "name", scalar(a.Name))
	put(top, "title", scalar(a.Title))
	put(top, "reason", scalar("de-identified copy"))
	put(top, "types", list(a.Type))
	// A clip finds its profile by the hash, so no tail has to fit.
	put(top, "tails", list("*"))
	var out bytes.Buffer
	enc := yaml.NewEncoder(&out)
	enc.SetIndent(2)
	if err := enc.Encode(&doc); err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	if err := enc.Close(); err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	// What was written must be read again, or the clip could not be replayed.
	if _, err := Parse("de-identified profile", out.Bytes()); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// uncomment removes the comments of a node and of all below it: free text, in
// which anybody may have been named.
func uncomment(n *yaml.Node) {
	n.HeadComment, n.LineComment, n.FootComment = "", "", ""
	for _, c := range n.Content {
		uncomment(c)
	}
}

// remove takes a key out of a mapping, if it is there. Keys and values
// alternate in the content of a mapping.
func remove(mapping *yaml.Node, key string) {
	for i := 0; i+1 < len(mapping.Content); i += 2 {
		if mapping.Content[i].Value == key {
			mapping.Content = append(mapping.Content[:i], mapping.Content[i+2:]...)
			return
		}
	}
}

// put replaces the value of a key that is there.
func put(mapping *yaml.Node, key string, value *yaml.Node) {
	for i := 0; i+1 < len(mapping.Content); i += 2 {
		if mapping.Content[i].Value == key {
			mapping.Content[i+1] = value
		}
	}
}

// scalar is quoted always, so that no name is read as a number or a date.
func scalar(text string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text, Style: yaml.DoubleQuotedStyle}
}

func list(text string) *yaml.Node {
	return &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: []*yaml.Node{scalar(text)}}
}
