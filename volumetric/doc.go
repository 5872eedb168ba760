// Package volumetric knows burettes, pipettes and flasks: what their class
// allows, how well a volume was delivered, what temperature does to it, and
// how weighing water calibrates them. It does not know what is in them.
package volumetric
