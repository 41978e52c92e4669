"""What every act at a job begins with: the job under its lock, its diary, the bench's fields and words; its time as all read it."""
