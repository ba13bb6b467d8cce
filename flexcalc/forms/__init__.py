"""What is typed on the pages: hands on plans and readings made of texts."""
