package measure

import "context"

type stepsKey struct{}

// WithSteps makes Measure say what it does next, in a few words ("looking for
// holes"), for those who wait.
func WithSteps(ctx context.Context, say func(what string)) context.Context {
	return context.WithValue(ctx, stepsKey{}, say)
}

// step says what is done next.
func step(ctx context.Context, what string) {
	if say, ok := ctx.Value(stepsKey{}).(func(string)); ok {
		say(what)
	}
}
