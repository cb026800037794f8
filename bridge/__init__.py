"""The bridge from the car to the go/no-go: values in, snapshots out."""
