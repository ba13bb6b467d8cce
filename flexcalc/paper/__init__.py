"""What is drawn and printed: the answers to a plan, pictures to scale, the build sheet."""
