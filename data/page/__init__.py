"""The kit that the pages of both packages are made of; of `data`, only this may draw."""
