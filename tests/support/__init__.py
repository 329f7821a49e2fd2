"""What several tests share: problems, random problems, and an independent check of designs."""
