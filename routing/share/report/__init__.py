"""What a helper sends back."""
