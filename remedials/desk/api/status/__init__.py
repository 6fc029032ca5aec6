"""What customers see and keep: links, documents, archives, holds, privacy."""
