// Package difference measures how far apart two colours look.
//
// [CIEDE2000] is the metric that everything else in this module judges by;
// [AB] is the plain distance in CIELAB that older figures use. Every function
// here is pure, allocates nothing and is safe for concurrent use.
package difference
