// Package vary tries every finding under other assumptions: another inclination of the
// condylar paths, another side shift, another place of the hinge axis.
package vary
