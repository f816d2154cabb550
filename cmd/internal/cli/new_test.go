package cli

import "testing"


func TestX(t *testing.T) {}
