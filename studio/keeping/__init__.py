"""Nothing lost: copies of the books by the day, brought back when they are needed; everything taken along as plain files."""
