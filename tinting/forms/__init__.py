"""What is typed and chosen on the pages: hands on plans, rows and jars read from texts."""
