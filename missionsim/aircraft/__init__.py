"""What an aircraft can do: profile, performance, loading, runway."""
